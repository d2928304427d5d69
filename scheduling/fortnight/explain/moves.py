"""Where else a visit could stand: each other day, what the cheapest plan with it there costs, or why it is not possible."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from scheduling.fortnight.explain.background import NOTHING_KNOWN, Background
from scheduling.fortnight.explain.compare import Change, compare
from scheduling.fortnight.explain.costs import VisitCost, why_here
from scheduling.fortnight.explain.force import KEEP_CENTS, force_in
from scheduling.fortnight.explain.reasons import why_left_out
from scheduling.fortnight.explain.words import Clock, day_text, days_text, money, named, slot_clock, time_text
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Order, Problem

STEPS = 60


@dataclass(frozen=True)
class Move:
    """One other day. `cents`: change of the whole cost (below 0: cheaper), None where no plan was found; `text` says why then.

    start   slot at which it would start that day (None: nowhere)
    """

    day: int
    cents: int | None
    start: int | None
    fallen: tuple[str, ...]
    changes: tuple[Change, ...]
    text: str


@dataclass(frozen=True)
class Moves:
    """A visit: what it costs where it stands, and every other day of the horizon, by day."""

    orders: tuple[str, ...]
    day: int
    here: VisitCost
    moves: tuple[Move, ...]
    text: str


def moves(
    problem: Problem,
    plan: Plan,
    order_id: str,
    visit_number: int = 0,
    background: Background = NOTHING_KNOWN,
    *,
    clock: Clock = slot_clock,
    steps: int = STEPS,
    seed: int = 0,
    keep_cents: int = KEEP_CENTS,
    on_progress: Callable[[int, int], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> Moves:
    """Every other day for one visit of an order (with what rides along with it), found by solving from the plan at hand.

    Raises ValueError when the plan has no such visit.
    """
    visit = next((v for v in plan.visits if any((j.order, j.visit) == (order_id, visit_number) for j in v.jobs)), None)
    if visit is None:
        raise ValueError(f"order {order_id!r} has no visit {visit_number} in the plan; name one that is planned")
    asked = _Asked(problem, plan, visit, order_id, background, clock, steps, seed, keep_cents, should_stop)
    found: list[Move] = []
    days = [day for day in range(len(problem.days)) if day != visit.day]
    for number, day in enumerate(days):
        if should_stop is not None and should_stop():
            break
        found.append(asked.to(day))
        if on_progress is not None:
            on_progress(number + 1, len(days))
    orders = tuple(job.order for job in visit.jobs)
    return Moves(orders, visit.day, why_here(problem, visit, clock), tuple(found), _text(problem, visit, found))


@dataclass(frozen=True)
class _Asked:
    problem: Problem
    plan: Plan
    visit: Visit
    order: str
    background: Background
    clock: Clock
    steps: int
    seed: int
    keep_cents: int
    should_stop: Callable[[], bool] | None

    def to(self, day: int) -> Move:
        """The visit on another day."""
        shut = self._shut(day)
        if shut:
            return Move(day, None, None, (), (), f"{day_text(self.problem, day)}: not possible: {shut}.")
        only = {(job.order, job.visit): frozenset((day,)) for job in self.visit.jobs}
        found = force_in(
            self._same_way(), self.plan, self.order, only=only, steps=self.steps, seed=self.seed, keep_cents=self.keep_cents,
            should_stop=self.should_stop,
        )  # fmt: skip
        if found is None:
            return Move(day, None, None, (), (), f"{day_text(self.problem, day)}: not possible: {self._why_not(day)}")
        return self._told(day, found)

    def _same_way(self) -> Problem:
        """The problem in which the visit's orders are done as they are planned: the same visits, the same team size."""
        minutes = {job.order: dict[int, int]() for job in self.visit.jobs}
        for job in (job for visit in self.plan.visits for job in visit.jobs if job.order in minutes):
            minutes[job.order][job.visit] = job.work_min
        asked = {order: tuple(by_visit[n] for n in sorted(by_visit)) for order, by_visit in minutes.items()}
        orders = tuple(
            replace(o, modes=tuple(m for m in o.modes if m.visits_min == asked[o.id]) or o.modes) if o.id in asked else o
            for o in self.problem.orders
        )
        return replace(self.problem, orders=orders)

    def _shut(self, day: int) -> str:
        """Why the orders of the visit may not be worked on that day at all; "" if they may."""
        orders = {order.id: order for order in self.problem.orders}
        for job in self.visit.jobs:
            if day not in orders[job.order].days:
                why = self.background.shut.get(job.order, {}).get(day)
                days = days_text(self.problem, orders[job.order].days)
                return why.text.rstrip(".") if why else f"{job.order} may be worked on {days} only"
        return ""

    def _told(self, day: int, found: Plan) -> Move:
        told = compare(self.problem, self.plan, found, self.clock)
        mine = {job.order for job in self.visit.jobs}
        others = tuple(change for change in told.changes if change.order not in mine)
        number = next(job.visit for job in self.visit.jobs if job.order == self.order)
        start = next(v.start for v in found.visits for j in v.jobs if (j.order, j.visit) == (self.order, number))
        text = f"{time_text(self.problem, day, start, self.clock)}: "
        text += f"{money(self.problem, abs(told.value))} {'less' if told.value < 0 else 'more'}"
        text += f"; {named(told.lost)} would fall out" if told.lost else ""
        moved = len({change.order for change in others} - set(told.lost))
        text += f"; {moved} other orders change" if moved else ""
        return Move(day, told.value, start, told.lost, others, text + ".")

    def _why_not(self, day: int) -> str:
        """The reason that binds for this visit alone on that day, the rest of the plan standing."""
        job = next(job for job in self.visit.jobs if job.order == self.order)
        kept = tuple(
            replace(v, jobs=tuple(j for j in v.jobs if j.order != self.order))
            for v in self.plan.visits
            if any(j.order != self.order for j in v.jobs)
        )
        rest = Plan(kept, (*self.plan.left_out, self.order))
        reason = why_left_out(self._single(job.work_min, day), rest, self.order, self.clock)
        if reason.code in ("room found", "not worth it"):
            return "no plan was found with it there (its other visits, or what rides along, find no place)."
        return reason.text

    def _single(self, work_min: int, day: int) -> Problem:
        """The problem in which the order is this visit only, on this day only."""

        def only_this(order: Order) -> Order:
            modes = tuple(replace(mode, visits_min=(work_min,)) for mode in order.modes[:1])
            return replace(order, days=(day,), pins=(), crew=(), after=(), behind=(), modes=modes)

        orders = tuple(only_this(order) if order.id == self.order else order for order in self.problem.orders)
        published = tuple(one for one in self.problem.published if one.order != self.order)
        return replace(self.problem, orders=orders, published=published)


def _text(problem: Problem, visit: Visit, found: list[Move]) -> str:
    priced = [move for move in found if move.cents is not None]
    if not priced:
        return f"It can stand on no other day than {day_text(problem, visit.day)} beside this plan."
    best = min(priced, key=lambda move: move.cents or 0)
    if best.cents is not None and best.cents < 0:
        return f"A cheaper day was found: {best.text}"
    return f"The cheapest other day: {best.text}"
