"""What changed between two plans and what it bought: visits, people, orders won and lost, each part of the money, energy.

The plans may be answers to two different problems (before and after a change of the register, or of a what-if copy): visits
are then compared by their local time, and what differs between the problems is told too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.place_rules import between_visits
from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain.differences import Difference, differences
from scheduling.fortnight.explain.fieldwords import Side
from scheduling.fortnight.explain.words import Clock, hours, money, slot_clock, time_text
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem

CHANGES = ("moved", "other people", "new", "dropped")


@dataclass(frozen=True)
class Change:
    """One difference between two plans. kind: moved, other people, new, dropped."""

    kind: str
    order: str
    visit: int
    text: str


@dataclass(frozen=True)
class PersonChange:
    """Whose days out or hours away differ. Days are local dates; minutes away over the whole plan."""

    person: str
    days_before: tuple[date, ...]
    days_after: tuple[date, ...]
    away_min_before: int
    away_min_after: int
    text: str


@dataclass(frozen=True)
class Comparison:
    """From one plan to another. Money in cents, energy in MWh.

    changes         visit by visit
    parts           change of each part of the cost (new minus old); parts_before, parts_after the parts themselves
    won, lost       orders planned now and not before, and the other way about
    people          people whose days or hours out differ
    lost_mwh_before, lost_mwh_after   energy not produced for the plan's work
    problem         what differs between the two problems (empty when it is one)
    text            the sum of it in one line
    """

    changes: tuple[Change, ...]
    parts: dict[str, int]
    text: str
    parts_before: dict[str, int]
    parts_after: dict[str, int]
    won: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    people: tuple[PersonChange, ...] = ()
    lost_mwh_before: float = 0.0
    lost_mwh_after: float = 0.0
    problem: tuple[Difference, ...] = ()

    @property
    def value(self) -> int:
        """Change of the whole cost in cents: below 0 the new plan is cheaper."""
        return sum(self.parts.values())


def compare(
    problem: Problem,
    old_plan: Plan,
    new_plan: Plan,
    clock: Clock = slot_clock,
    before: Problem | None = None,
    before_clock: Clock | None = None,
) -> Comparison:
    """What changed from the old plan to the new one, and what it bought.

    problem, clock          of the new plan; problem also of the old one, unless
    before, before_clock    give the problem that the old plan answers
    """
    before = problem if before is None else before
    old, new = _Laid(before, old_plan, before_clock or clock), _Laid(problem, new_plan, clock)
    keys = sorted({*old.visits, *new.visits})
    changes = tuple(change for key in keys if (change := _change(key, old, new)) is not None)
    parts = {name: new.parts.get(name, 0) - old.parts.get(name, 0) for name in {**old.parts, **new.parts}}
    won = tuple(order for order in new.view.planned if order not in old.view.planned)
    lost = tuple(order for order in old.view.planned if order not in new.view.planned)
    people = tuple(_people(old, new))
    mwh = lost_mwh(old.view), lost_mwh(new.view)
    text = _text(problem, changes, sum(parts.values()), won, lost, mwh)
    return Comparison(changes, parts, text, old.parts, new.parts, won, lost, people, *mwh, problem=differences(before, problem))


class _Laid:
    """One plan over its problem, with its clock."""

    def __init__(self, problem: Problem, plan: Plan, clock: Clock) -> None:
        self.problem, self.clock = problem, clock
        self.view = View(problem, plan)
        self.parts = recompute_parts(problem, plan)
        self.visits = {(job.order, job.visit): visit for visit in self.view.visits for job in visit.jobs}
        self.origin = datetime.fromisoformat(problem.origin)

    def moment(self, visit: Visit) -> datetime:
        """When the visit starts, UTC."""
        minutes = self.problem.days[visit.day].start_min + visit.start * self.problem.slot_min
        return self.origin + timedelta(minutes=minutes)

    def when(self, visit: Visit) -> str:
        """The same in words, local."""
        return time_text(self.problem, visit.day, visit.start, self.clock)

    def names(self, visit: Visit) -> str:
        """The people of a visit."""
        return ", ".join(self.view.people[person].name for person in visit.people)


def _change(key: tuple[str, int], old: _Laid, new: _Laid) -> Change | None:
    order, number = key
    was, now = old.visits.get(key), new.visits.get(key)
    if was is None or now is None:
        if now is not None:
            return Change("new", order, number, f"{order}: new on {new.when(now)}")
        return Change("dropped", order, number, f"{order}: no longer on {old.when(was)}") if was else None
    if old.moment(was) != new.moment(now):
        return Change("moved", order, number, f"{order}: from {old.when(was)} to {new.when(now)}")
    if set(was.people) != set(now.people):
        return Change("other people", order, number, f"{order}: still {new.when(now)}, now {new.names(now)}")
    return None


def _people(old: _Laid, new: _Laid) -> list[PersonChange]:
    """Everybody of either problem whose days or minutes out differ, by name."""
    was, now = _out(old), _out(new)
    names = {p.id: p.name for laid in (old, new) for p in laid.problem.people}
    side, found = Side(new.problem), []
    for person in sorted(names, key=lambda one: names[one]):
        a, b = was.get(person, {}), now.get(person, {})
        if set(a) == set(b) and sum(a.values()) == sum(b.values()):
            continue
        told = [f"no longer {side.dates_text(set(a) - set(b))}"] if set(a) - set(b) else []
        told += [f"now also {side.dates_text(set(b) - set(a))}"] if set(b) - set(a) else []
        spent = f"{hours(sum(b.values()))} away, before {hours(sum(a.values()))}"
        text = f"{names[person]}: out on {len(b)} days, before {len(a)} ({'; '.join([*told, spent])})"
        found.append(PersonChange(names[person], tuple(sorted(a)), tuple(sorted(b)), sum(a.values()), sum(b.values()), text))
    return found


def _out(laid: _Laid) -> dict[str, dict[date, int]]:
    """Person -> date -> minutes away."""
    out: dict[str, dict[date, int]] = {}
    for route in laid.view.routes:
        day = date.fromisoformat(laid.problem.days[route.day].date)
        for person in route.people:
            out.setdefault(person, {})[day] = out.get(person, {}).get(day, 0) + route.away_min
    return out


def lost_mwh(view: View) -> float:
    """MWh not produced for a plan's work, by the definition of the part "lost energy"."""
    key, p = {t.id: t.energy for t in view.problem.turbines}, view.problem
    total = sum(sum(p.stop_mwh[key[turbine]][view.columns(visit)]) for visit in view.visits for turbine in view.stops(visit))
    total += sum(sum(p.stop_mwh[key[turbine]][columns]) for turbine, columns in between_visits(view))
    for order, jobs in view.planned.items():
        if view.orders[order].stopped_between:
            nights = p.night_mwh[key[view.orders[order].turbine]]
            total += sum(nights[jobs[0][1].day : jobs[-1][1].day])
    return float(total)


def _text(
    problem: Problem,
    changes: tuple[Change, ...],
    cents: int,
    won: tuple[str, ...],
    lost: tuple[str, ...],
    mwh: tuple[float, float],
) -> str:
    counts = {kind: sum(change.kind == kind for change in changes) for kind in CHANGES}
    said = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count) or "nothing changed"
    orders = [f"{len(won)} orders more"] if won else []
    orders += [f"{len(lost)} orders fewer"] if lost else []
    energy = mwh[1] - mwh[0]
    orders += [f"{abs(energy):,.1f} MWh {'more' if energy > 0 else 'less'} lost"] if abs(energy) >= 0.05 else []
    more = f"; {', '.join(orders)}" if orders else ""
    return f"{said}; {money(problem, abs(cents))} {'more' if cents > 0 else 'less'} than before{more}."
