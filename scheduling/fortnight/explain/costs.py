"""What a visit costs where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain.words import Clock, money, percent, slot_clock, time_text
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem

OF_A_VISIT = (
    *("lost energy", "lateness", "likely aborts", "travel", "nights away", "teams", "overtime", "equipment", "hired people"),
)


@dataclass(frozen=True)
class VisitCost:
    """What one visit costs by itself (travel from base and back, a team and equipment of its own), in cents; energy in MWh.

    best_start is the start of that day, by the weather alone, at which it would lose the least energy.
    """

    parts: dict[str, int]
    lost_mwh: float
    chance: float
    best_start: int
    best_lost_mwh: float
    text: str


def why_here(problem: Problem, visit: Visit, clock: Clock = slot_clock) -> VisitCost:
    """The visit's cost by part, and how its start compares with the others of its day.

    Lateness counts as if it were the last visit of its orders.
    """
    view = View(problem, Plan((visit,), ()))
    counted = recompute_parts(problem, view.plan)
    parts = {name: counted[name] for name in OF_A_VISIT}
    lost, chance = _lost_mwh(view, visit, visit.start), view.chance(visit)
    best = min(_starts(view, visit), key=lambda start: _lost_mwh(view, visit, start), default=visit.start)
    best_lost = _lost_mwh(view, visit, best)
    text = f"{time_text(problem, visit.day, visit.start, clock)}: {percent(chance)} chance, {lost:.1f} MWh lost, "
    text += f"{money(problem, sum(parts.values()))} in all"
    if best_lost < lost - 0.05:
        text += f"; the start with the least loss that day is {clock(visit.day, best)} with {best_lost:.1f} MWh"
    return VisitCost(parts, lost, chance, best, best_lost, text + ".")


def _starts(view: View, visit: Visit) -> list[int]:
    """Starts of the visit's day with enough chance for its stay."""
    day, found = view.problem.days[visit.day], list[int]()
    windows = {key for order in view.job_orders(visit) for key in (order.window, *order.also)}
    for start in range(day.slots - visit.slots + 1):
        columns = slice(day.first_slot + start, day.first_slot + start + visit.slots)
        holds = [view.members(window)[:, columns].all(axis=1) for window in windows]
        good = sum(all(member) for member in zip(*holds, strict=True))
        if good / view.problem.members >= view.problem.rules.confidence:
            found.append(start)
    return found


def _lost_mwh(view: View, visit: Visit, start: int) -> float:
    first = view.problem.days[visit.day].first_slot + start
    keys = [view.turbines[turbine].energy for turbine in view.stops(visit)]
    return float(sum(sum(view.problem.stop_mwh[key][first : first + visit.slots]) for key in keys))
