"""What leaving an order out and being late cost, by class, and what the plan's other parts weigh.

Values of classes can be set per site (planner/worth.py has the usual ones), all other money per base (planner/models/money.py).
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.models import Base, Site
from planner.worth import LATE_A_DAY, LEFT_OUT, effective
from scheduling.fortnight.problem import Weights

NEAR_DAYS = 3
"""Days for which a likely abort weighs whole: vans and people are laid out. A planner's judgement, no source."""


@dataclass(frozen=True)
class Cost:
    """Whole cents."""

    left_out: int
    late_a_day: int


def cost_of(
    base: Base, site: Site, klass: str, due_day: int, closes_day: int, days: int, standing_cost_a_day: float = 0.0
) -> Cost:
    """What an order of a class costs when it is late or left out.

    due_day and closes_day are day indexes of the horizon. An order that closes after the horizon costs less to leave out, down
    to the base's least share after its fade days. Leaving out also pays the lateness that the horizon would have seen, so that
    late work is better than none. `standing_cost_a_day` is the energy a failed turbine loses.
    """
    late = effective(site.late_costs, LATE_A_DAY)[klass] + standing_cost_a_day
    whole = effective(site.left_out_costs, LEFT_OUT)[klass]
    beyond = max(0, closes_day - (days - 1))
    share = max(base.fade_least_share, 1.0 - beyond / base.fade_days)
    left_out = whole * share + late * max(0, days - max(0, due_day)) + late * max(0, -due_day)
    return Cost(round(left_out * 100), round(late * 100))


def change_cents(base: Base, day: int, told: bool = False) -> int:
    """Cost of moving a published visit on day index `day`, whole cents; more where its people were told."""
    by_day = base.change_by_day
    cost = by_day[day] if 0 <= day < len(by_day) else base.change_later
    return round(cost * _told(base, told) * 100)


def crew_cents(base: Base, told: bool = False) -> int:
    """Cost of each person taken out of a published visit that stands still, whole cents."""
    return round(base.crew_change * _told(base, told) * 100)


def _told(base: Base, told: bool) -> float:
    return base.told_factor if told else 1.0


def weights_of(base: Base) -> Weights:
    """The base's money in the problem's units."""
    return Weights(
        travel_per_person_min=round(base.travel_per_person_h * 100 / 60),
        overtime_per_person_min=round(base.overtime_per_person_h * 100 / 60),
        abort_per_person=round(base.abort_per_person * 100),
        team_day=round(base.team_day * 100),
        pair_apart=round(base.pair_apart * 100),
    )


def day_weights(base: Base, days: int) -> tuple[float, ...]:
    """How much a likely abort weighs by day: 1 on the first NEAR_DAYS, falling evenly to the far day's share on the last.

    What stands that far off is planned anew before anybody drives. A planner's judgement, no source.
    """
    fall = (1.0 - base.far_day_share) / max(1, days - NEAR_DAYS)
    return tuple(round(1.0 - fall * max(0, day - NEAR_DAYS + 1), 4) for day in range(days)) if fall else ()
