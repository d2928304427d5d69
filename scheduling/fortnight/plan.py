"""What a plan of a fortnight is: frozen records that the solver writes and the checker, the pages and publish read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduling import codec


@dataclass(frozen=True)
class Job:
    """The part of an order done in one visit: `visit` counts from 0 within the order's mode."""

    order: str
    visit: int
    work_min: int


@dataclass(frozen=True)
class Visit:
    """One team at one turbine on one day, in slots [start, start + slots); several jobs ride along.

    `starts_from` and `ends_at` are where its team begins and ends that day: a lodging's id, "" for the base.
    """

    turbine: str
    day: int
    start: int
    slots: int
    team: int
    jobs: tuple[Job, ...]
    people: tuple[str, ...]
    vehicle: str
    chance: float
    by: str
    starts_from: str = ""
    ends_at: str = ""


@dataclass(frozen=True)
class Plan:
    """Visits and what was left out. `parts` is the money by name, in cents; `value` is its sum."""

    visits: tuple[Visit, ...]
    left_out: tuple[str, ...]
    parts: dict[str, int] = field(default_factory=dict)

    @property
    def value(self) -> int:
        """Total cost in cents."""
        return sum(self.parts.values())


@dataclass(frozen=True)
class Violation:
    """A hard rule that a plan breaks: the rule's name, where, and by how much (in the rule's unit)."""

    rule: str
    text: str
    orders: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    day: int | None = None
    amount: float = 0.0


@dataclass(frozen=True)
class Result:
    """What a solve gives back. `status`: optimal, gap reached, out of time, stopped, infeasible, empty.

    `bound` is proven: no plan that keeps the rules costs less (cents). `gap` = (value - bound) / value, 0 for value 0.
    """

    status: str
    text: str
    plan: Plan
    bound: float
    seconds: float
    trace: tuple[tuple[float, int, float], ...] = ()
    versions: dict[str, str] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """Share of the value that is not proven necessary."""
        value = self.plan.value
        return max(0.0, (value - self.bound) / value) if value > 0 else 0.0


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The plan as JSON values."""
    data: dict[str, Any] = codec.to_json(plan)
    return data


def plan_from_json(data: Any) -> Plan:
    """Read a stored plan; ValueError names the path."""
    return codec.from_json(Plan, data, "plan")
