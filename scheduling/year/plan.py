"""What a round is: frozen records that the solver writes and the checker, the pages and the fortnight read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduling import codec


@dataclass(frozen=True)
class Placement:
    """An item's week. `with_item` names the item that absorbs it ("" = it is done by itself)."""

    item: str
    week: int
    with_item: str = ""


@dataclass(frozen=True)
class Plan:
    """Placements in the order of the problem's items, and what was left out. `parts`: money by name, in cents."""

    placements: tuple[Placement, ...]
    left_out: tuple[str, ...]
    parts: dict[str, int] = field(default_factory=dict)

    @property
    def value(self) -> int:
        """Total cost in cents."""
        return sum(self.parts.values())

    @property
    def week_of(self) -> dict[str, int]:
        """Item id -> week index, for every placed item."""
        return {placed.item: placed.week for placed in self.placements}


@dataclass(frozen=True)
class Violation:
    """A hard rule that a round breaks: the rule's name, where, and by how much (in the rule's unit)."""

    rule: str
    text: str
    items: tuple[str, ...] = ()
    week: int | None = None
    amount: float = 0.0


@dataclass(frozen=True)
class Result:
    """What a solve gives back. `status`: optimal, gap reached, out of time, stopped, infeasible, empty.

    `bound` is proven: no round that keeps the rules costs less (cents). `gap` = (value - bound) / |value|, 0 for value 0.
    `warnings` are sentences about the input that a planner must see beside the round. `trace`: (seconds, value, bound).
    """

    status: str
    text: str
    plan: Plan
    bound: float
    seconds: float
    warnings: tuple[str, ...] = ()
    trace: tuple[tuple[float, int, float], ...] = ()
    versions: dict[str, str] = field(default_factory=dict)

    @property
    def value(self) -> int:
        """The round's cost in cents."""
        return self.plan.value

    @property
    def gap(self) -> float:
        """Share of the value that is not proven necessary."""
        return max(0.0, (self.value - self.bound) / abs(self.value)) if self.value else 0.0


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The round as JSON values."""
    data: dict[str, Any] = codec.to_json(plan)
    return data


def plan_from_json(data: Any) -> Plan:
    """Read a stored round; ValueError names the path."""
    return codec.from_json(Plan, data, "plan")
