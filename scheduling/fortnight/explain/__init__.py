"""Reasons in the planner's words: why an order was left out, what a visit costs where it stands, what changed.

Pure: the local time of a slot comes from a clock that is passed in. A new reason: its code in reasons.CODES, one small test
in blocks.py, its place in reasons.TESTS.
"""

from __future__ import annotations

from scheduling.fortnight.explain.costs import Change, Comparison, VisitCost, compare, why_here
from scheduling.fortnight.explain.reasons import CODES, Reason, reasons, why_left_out
from scheduling.fortnight.explain.words import Clock, day_text, days_text, money, slot_clock, time_text

__all__ = [
    "CODES",
    "Change",
    "Clock",
    "Comparison",
    "Reason",
    "VisitCost",
    "compare",
    "day_text",
    "days_text",
    "money",
    "reasons",
    "slot_clock",
    "time_text",
    "why_here",
    "why_left_out",
]
