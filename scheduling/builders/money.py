"""What leaving an order out and being late cost, by class, in the site's currency. Every number can be set per site."""

from __future__ import annotations

from dataclasses import dataclass

from planner.models import Site
from workorders.choices import Klass

LEFT_OUT: dict[str, float] = {
    Klass.STATUTORY: 9_000,
    Klass.GATE: 6_000,
    Klass.FAILURE: 8_000,
    Klass.SERVICE: 2_500,
    Klass.MINOR: 700,
}
"""Cost of leaving an order out whose end of tolerance lies inside the horizon. A planner's judgement, no source."""
LATE_A_DAY: dict[str, float] = {
    Klass.STATUTORY: 900,
    Klass.GATE: 500,
    Klass.FAILURE: 700,
    Klass.SERVICE: 60,
    Klass.MINOR: 15,
}
"""Cost of each day after the due date. A planner's judgement, no source."""
FADE_DAYS = 60
LEAST_SHARE = 0.15
CHANGE_BY_DAY = (400.0, 300.0, 150.0, 100.0)
CHANGE_LATER = 40.0
"""Cost of moving a published visit, by how near it is: people know, vehicles and keys are laid out."""


@dataclass(frozen=True)
class Cost:
    """Whole cents."""

    left_out: int
    late_a_day: int


def cost_of(site: Site, klass: str, due_day: int, closes_day: int, days: int, standing_cost_a_day: float = 0.0) -> Cost:
    """What an order of a class costs when it is late or left out.

    due_day and closes_day are day indexes of the horizon. An order that closes after the horizon costs less to leave out, down
    to a share of 0.15 sixty days later. Leaving out also pays the lateness that the horizon would have seen, so that late
    work is better than none. `standing_cost_a_day` is the energy a failed turbine loses.
    """
    late = site.late_costs.get(klass, LATE_A_DAY[klass]) + standing_cost_a_day
    base = site.left_out_costs.get(klass, LEFT_OUT[klass])
    beyond = max(0, closes_day - (days - 1))
    share = max(LEAST_SHARE, 1.0 - beyond / FADE_DAYS)
    left_out = base * share + late * max(0, days - max(0, due_day)) + late * max(0, -due_day)
    return Cost(round(left_out * 100), round(late * 100))


def change_cents(day: int) -> int:
    """Cost of moving a published visit on day index `day`, whole cents."""
    cost = CHANGE_BY_DAY[day] if 0 <= day < len(CHANGE_BY_DAY) else CHANGE_LATER
    return round(cost * 100)
