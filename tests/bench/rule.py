"""The rule of thumb that benchmarks compare with."""

from __future__ import annotations

from scheduling.fortnight.due_order import due_order_plan as rule_plan

__all__ = ["rule_plan"]
