"""What a visit costs where it stands, and what changed between two plans."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain.words import Clock, money, percent, slot_clock, time_text
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem

OF_A_VISIT = ("lost energy", "lateness", "likely aborts", "travel", "teams", "overtime", "equipment")


@dataclass(frozen=True)
class VisitCost:
    """What one visit costs by itself (travel from base and back, a team of its own), in cents; energy in MWh.

    best_start is the start of that day, by the weather alone, at which it would lose the least energy.
    """

    parts: dict[str, int]
    lost_mwh: float
    chance: float
    best_start: int
    best_lost_mwh: float
    text: str


@dataclass(frozen=True)
class Change:
    """One difference between two plans. kind: moved, other people, new, dropped."""

    kind: str
    order: str
    visit: int
    text: str


@dataclass(frozen=True)
class Comparison:
    """Differences by order, and the change of each part of the cost (cents, new minus old)."""

    changes: tuple[Change, ...]
    parts: dict[str, int]
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
    windows = {order.window for order in view.job_orders(visit)}
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


def compare(problem: Problem, old_plan: Plan, new_plan: Plan, clock: Clock = slot_clock) -> Comparison:
    """What changed from the old plan to the new one, visit by visit and part by part."""
    old, new = _visits(old_plan), _visits(new_plan)
    changes = tuple(
        change for key in sorted({*old, *new}) if (change := _change(problem, key, old.get(key), new.get(key), clock)) is not None
    )
    before, after = recompute_parts(problem, old_plan), recompute_parts(problem, new_plan)
    parts = {name: after[name] - before[name] for name in after}
    counts = {kind: sum(c.kind == kind for c in changes) for kind in ("moved", "other people", "new", "dropped")}
    said = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count) or "nothing changed"
    total = sum(parts.values())
    text = f"{said}; {money(problem, abs(total))} {'more' if total > 0 else 'less'} than before."
    return Comparison(changes, parts, text)


def _visits(plan: Plan) -> dict[tuple[str, int], Visit]:
    return {(job.order, job.visit): visit for visit in plan.visits for job in visit.jobs}


def _change(problem: Problem, key: tuple[str, int], old: Visit | None, new: Visit | None, clock: Clock) -> Change | None:
    order, number = key
    was = time_text(problem, old.day, old.start, clock) if old else ""
    now = time_text(problem, new.day, new.start, clock) if new else ""
    if old is None:
        return Change("new", order, number, f"{order}: new on {now}")
    if new is None:
        return Change("dropped", order, number, f"{order}: no longer on {was}")
    if (old.day, old.start) != (new.day, new.start):
        return Change("moved", order, number, f"{order}: from {was} to {now}")
    if set(old.people) != set(new.people):
        names = {person.id: person.name for person in problem.people}
        who = ", ".join(names.get(person, person) for person in new.people)
        return Change("other people", order, number, f"{order}: still {now}, now {who}")
    return None
