"""Reasons in the planner's words: why an order was left out, what a visit costs where it stands, what changed.

Pure: the local time of a slot comes from a clock that is passed in. A new reason: its code in reasons.CODES, one small test
in blocks.py, its place in reasons.TESTS.
"""

from __future__ import annotations

from scheduling.fortnight.explain.background import NOTHING_KNOWN, Background, LimitStep, LimitTable, Shut
from scheduling.fortnight.explain.compare import Change, Comparison, PersonChange, compare
from scheduling.fortnight.explain.conditions import conditions
from scheduling.fortnight.explain.costs import VisitCost, why_here
from scheduling.fortnight.explain.daily import by_day, left_out_by_day
from scheduling.fortnight.explain.differences import Difference, differences
from scheduling.fortnight.explain.moves import Move, Moves, moves
from scheduling.fortnight.explain.reasons import CODES, Reason, reasons, why_left_out
from scheduling.fortnight.explain.relax import Way, WaysIn, cost_text, way_text, ways_in
from scheduling.fortnight.explain.words import Clock, day_text, days_text, money, slot_clock, time_text

__all__ = [
    "CODES",
    "NOTHING_KNOWN",
    "Background",
    "Change",
    "Clock",
    "Comparison",
    "Difference",
    "LimitStep",
    "LimitTable",
    "Move",
    "Moves",
    "PersonChange",
    "Reason",
    "Shut",
    "VisitCost",
    "Way",
    "WaysIn",
    "by_day",
    "compare",
    "conditions",
    "cost_text",
    "day_text",
    "days_text",
    "differences",
    "left_out_by_day",
    "money",
    "moves",
    "reasons",
    "slot_clock",
    "time_text",
    "way_text",
    "ways_in",
    "why_here",
    "why_left_out",
]
