"""Two or three plans side by side, each on its own problem: what each costs and loses, and which visits differ from the first.

Plans may stand on different problems: another day, other people, other limits. What is counted (energy, hours, visits) is
counted on each plan's own problem; money is shown at its own prices and at those of the first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.money import overtime_min
from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain import Change, Difference, compare
from scheduling.fortnight.explain.compare import lost_mwh
from scheduling.fortnight.explain.words import Clock, slot_clock
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Order, Problem

SUMS_OVER_DAYS = ("weather", "energy", "price")
"""Kinds of difference that are told as shares or sums over all hours of the days."""


@dataclass(frozen=True)
class Side:
    """A plan with its problem and the clock of its slots."""

    name: str
    problem: Problem
    plan: Plan
    clock: Clock = slot_clock


@dataclass(frozen=True)
class Figures:
    """What a plan comes to. Cents; minutes are person-minutes; `late` has (order, days after its due day).

    at_first_prices   what it would cost at the weights, dates and costs of orders of the first plan's problem
    people_min        time away from base, with travel and breaks
    """

    parts: dict[str, int]
    value: int
    at_first_prices: int
    lost_mwh: float
    visits: int
    planned: tuple[str, ...]
    left_out: tuple[str, ...]
    late: tuple[tuple[str, int], ...]
    people_min: int
    overtime_min: int
    travel_min: int
    team_days: int


@dataclass(frozen=True)
class Seen:
    """A visit as a reader sees it: local date, clock times of its ends, people by name."""

    date: str
    start: str
    end: str
    turbine: str
    people: tuple[str, ...]
    orders: tuple[str, ...]
    chance: float


@dataclass(frozen=True)
class Compared:
    """What a plan has that the first has not: visits that differ, people whose days differ, and what the problems differ in."""

    changes: tuple[Change, ...] = ()
    people: tuple[str, ...] = ()
    problem: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class SideBySide:
    """`compared[i]` is how plan i differs from the first (in nothing for the first itself); `days` has, for each local date of
    any of them, the visits of each plan."""

    figures: tuple[Figures, ...]
    compared: tuple[Compared, ...]
    days: tuple[tuple[str, tuple[tuple[Seen, ...], ...]], ...]


def side_by_side(sides: Sequence[Side], shown: Callable[[str], bool] = lambda site: True) -> SideBySide:
    """Compare plans with the first. Visits, changes and orders are named of turbines at sites that `shown` lets through."""
    first = sides[0]
    return SideBySide(
        tuple(figures(side, first, shown) for side in sides),
        tuple(_comparison(first, side, shown) if number else Compared() for number, side in enumerate(sides)),
        _days(sides, shown),
    )


def figures(side: Side, first: Side, shown: Callable[[str], bool] = lambda site: True) -> Figures:
    """What one plan comes to."""
    problem, plan = side.problem, side.plan
    view = View(problem, plan)
    parts = recompute_parts(problem, plan)
    own = {order.id for order in problem.orders if shown(view.turbines[order.turbine].site)}
    return Figures(
        parts=parts,
        value=sum(parts.values()),
        at_first_prices=sum(recompute_parts(at_prices_of(first.problem, problem), plan).values()),
        lost_mwh=lost_mwh(view),
        visits=len(view.visits),
        planned=tuple(sorted(set(view.planned) & own)),
        left_out=tuple(number for number in plan.left_out if number in own),
        late=tuple(sorted((number, days) for number, days in _late(view) if number in own)),
        people_min=sum(route.away_min * len(route.people) for route in view.routes),
        overtime_min=sum(
            overtime_min(view, person, route.day, route.leaves_min, route.returns_min)
            for route in view.routes
            for person in route.people
        ),
        travel_min=sum(sum(route.hops_min) * len(route.people) for route in view.routes),
        team_days=len(view.routes),
    )


def at_prices_of(first: Problem, own: Problem) -> Problem:
    """The own problem with the first one's weights, and the due days and costs of the orders both have.

    What moving visits that people know of costs stays as it is: which plan they knew may differ.
    """
    theirs = {order.id: order for order in first.orders}
    orders = tuple(_priced(order, theirs[order.id]) if order.id in theirs else order for order in own.orders)
    return replace(own, weights=first.weights, orders=orders)


def _priced(order: Order, theirs: Order) -> Order:
    return replace(order, due_day=theirs.due_day, late_cost=theirs.late_cost, left_out_cost=theirs.left_out_cost)


def _comparison(first: Side, side: Side, shown: Callable[[str], bool]) -> Compared:
    found = compare(side.problem, first.plan, side.plan, side.clock, before=first.problem, before_clock=first.clock)
    sites = {turbine.id: turbine.site for one in (first, side) for turbine in one.problem.turbines}
    at = {order.id: sites[order.turbine] for one in (first, side) for order in one.problem.orders}
    same_grid = [day.slots for day in first.problem.days] == [day.slots for day in side.problem.days]
    return Compared(
        tuple(change for change in found.changes if change.order in at and shown(at[change.order])),
        tuple(person.text for person in found.people),
        tuple(one for one in found.problem if _is_told(one, same_grid, at, shown)),
    )


def _is_told(one: Difference, same_grid: bool, at: dict[str, str], shown: Callable[[str], bool]) -> bool:
    """Sums over the hours of a day say nothing where one problem's days are longer; orders of hidden sites stay hidden."""
    if one.kind in SUMS_OVER_DAYS:
        return same_grid
    return one.kind not in ("order", "told") or (one.what in at and shown(at[one.what]))


def _late(view: View) -> list[tuple[str, int]]:
    last = {number: max(visit.day for _, visit in jobs) for number, jobs in view.planned.items()}
    return [(number, day - view.orders[number].due_day) for number, day in last.items() if day > view.orders[number].due_day]


def _days(sides: Sequence[Side], shown: Callable[[str], bool]) -> tuple[tuple[str, tuple[tuple[Seen, ...], ...]], ...]:
    seen = [
        [_seen(side, visit) for visit in sorted(side.plan.visits, key=_by_clock) if _is_shown(side, visit, shown)]
        for side in sides
    ]
    dates = sorted({one.date for own in seen for one in own})
    return tuple((date, tuple(tuple(one for one in own if one.date == date) for own in seen)) for date in dates)


def _by_clock(visit: Visit) -> tuple[int, tuple[str, ...], int]:
    return visit.day, tuple(sorted(visit.people)), visit.start


def _is_shown(side: Side, visit: Visit, shown: Callable[[str], bool]) -> bool:
    return any(turbine.id == visit.turbine and shown(turbine.site) for turbine in side.problem.turbines)


def _seen(side: Side, visit: Visit) -> Seen:
    names = {person.id: person.name for person in side.problem.people}
    return Seen(
        side.problem.days[visit.day].date,
        side.clock(visit.day, visit.start),
        side.clock(visit.day, visit.start + visit.slots),
        visit.turbine,
        tuple(sorted(names.get(person, person) for person in visit.people)),
        tuple(job.order for job in visit.jobs),
        visit.chance,
    )
