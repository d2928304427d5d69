"""A plan changed as little and as cheaply as can be found so that one order is in it, on certain days if asked.

It starts from the plan at hand. Each step takes the order and some of what stands near one of its possible days off the board
and puts all of it back, the order first; what is cheaper stays. The first half of the steps all start from the plan at hand,
so that each is one small exchange; the second half goes on from the best of them. What the plan leaves out stays out: only the
order asked about (and what must come before it) may come in. Very small problems are solved exactly instead.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import replace

from scheduling.fortnight.board import Board
from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.columns import JobKey, Kind, Kinds
from scheduling.fortnight.crewing import whole_problem
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.money import plan_of
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem, PublishedVisit
from scheduling.fortnight.reload import put_plan
from scheduling.fortnight.search import Saved, Search

MOST_EXACT_ORDERS, MOST_EXACT_STEPS, EXACT_S = 12, 2500, 20.0
"""Problems so small are solved to the optimum; the seconds are a stop that none of them should need."""

HEAT = 0.001
"""Share of the plan's cost by which a step may be worse at first, so that the search leaves a dead end."""

OUT_CENTS = 1e12
"""What leaving the order out counts while it is searched for a place: more than all else together."""

KEEP_CENTS = 2_000
"""A visit of the plan at hand is not moved for less: few changes before small gains. Not part of any cost that is told."""

Only = Mapping[tuple[str, int], frozenset[int]]
"""(order, visit) -> the days on which that visit may stand."""

ANY_DAY: Only = {}


def force_in(
    problem: Problem,
    plan: Plan,
    order_id: str,
    *,
    only: Only = ANY_DAY,
    steps: int = 120,
    seed: int = 0,
    keep_cents: int = KEEP_CENTS,
    should_stop: Callable[[], bool] | None = None,
) -> Plan | None:
    """The cheapest plan found with the order in it, with its parts in cents; None if none was found.

    Same arguments, same answer: `steps` is the only limit (`should_stop` apart). The plan passes the checker. Raises ValueError
    for an order that is not in the problem.
    """
    if order_id not in {order.id for order in problem.orders}:
        raise ValueError(f"order {order_id!r} is not in the problem; name one of its orders")
    wanted = _chain(problem, plan, order_id)
    found = _Forced(_around(problem, plan, wanted, keep_cents), plan, order_id, wanted, only, seed).result(steps, should_stop)
    if found is None:
        return None
    planned = {job.order for visit in found.visits for job in visit.jobs}
    left = tuple(order.id for order in problem.orders if order.id not in planned)
    whole = replace(found, left_out=left)
    whole = replace(whole, parts=recompute_parts(problem, whole))
    # What the search builds keeps the rules by construction; the checker is other code and has the last word.
    return None if check(problem, whole) else whole


def _chain(problem: Problem, plan: Plan, order_id: str) -> list[str]:
    """The order after everything that must come before it and is not planned."""
    planned = {job.order for visit in plan.visits for job in visit.jobs} - {order_id}
    orders, found = {order.id: order for order in problem.orders}, list[str]()

    def take(name: str) -> None:
        for earlier in orders[name].after:
            if earlier not in planned and earlier not in found:
                take(earlier)
        found.append(name)

    take(order_id)
    return found


def _around(problem: Problem, plan: Plan, wanted: list[str], keep_cents: int) -> Problem:
    """The problem of the orders that are in the plan or wanted, with a price on moving what stands."""
    planned = {job.order for visit in plan.visits for job in visit.jobs}
    orders = tuple(order for order in problem.orders if order.id in planned or order.id in wanted)
    names = {order.id for order in orders}
    stands = tuple(
        PublishedVisit(job.order, job.visit, visit.day, visit.start, visit.people, keep_cents)
        for visit in plan.visits
        for job in visit.jobs
        if keep_cents and job.order not in wanted
    )
    told = tuple(one for one in problem.published if one.order in names)
    return replace(problem, orders=orders, published=told + stands)


class _KindsOn(Kinds):
    """Kinds whose jobs stand only on the days named."""

    def __init__(self, facts: Facts, only: Only) -> None:
        super().__init__(facts)
        self._only = {(facts.order[order], visit): days for (order, visit), days in only.items()}

    def get(self, jobs: tuple[JobKey, ...]) -> Kind:
        kind = super().get(jobs)
        for order, _, visit in kind.jobs:
            days = self._only.get((order, visit))
            if days is not None:
                for day in [day for day in kind.fields if day not in days]:
                    del kind.fields[day]
        return kind


class _Forced(Search):
    """The search around one order. `wanted`: the order, after what must come before it and is out."""

    def __init__(self, problem: Problem, plan: Plan, order_id: str, wanted: list[str], only: Only, seed: int) -> None:
        rng = random.Random(seed)
        facts = Facts(problem)
        orders = Orders(Board(facts, _KindsOn(facts, only)), rng)
        self.order, self.wanted = facts.order[order_id], [facts.order[name] for name in wanted]
        self.possible = self._fits_alone(orders)
        put_plan(orders, plan)
        orders.must |= set(self.wanted)
        for one in self.wanted:
            orders.left_cents[one] = OUT_CENTS
        self.base_cents = orders.board.cents()
        super().__init__(orders, rng)
        self.at_hand: Saved = self.now
        self.days = sorted({day for job in orders.board.kinds.job_keys(self.order) for day in self._days_of(job)})

    def _fits_alone(self, orders: Orders) -> bool:
        """Whether the search could place it if nothing else stood; leaves the board empty."""
        for one in self.wanted:
            orders.add(one, slack=float("inf"))
        found = self.order not in orders.left
        for one in self.wanted:
            orders.remove(one)
        return found

    def _days_of(self, job: JobKey) -> set[int]:
        return set(self.board.kinds.get((job,)).fields)

    def result(self, steps: int, should_stop: Callable[[], bool] | None) -> Plan | None:
        """Search for so many steps; the best plan with the order in it."""
        if not self.days:  # no start on any day, whoever goes
            return None
        if self._small():
            return self._exact()
        if not self.possible:
            return None
        self._lay_back()
        self.keep()
        for number in range(steps):
            if should_stop is not None and should_stop():
                break
            self._begin_at(number, steps)
            self.step(HEAT * self.base_cents * (1 - number / steps) ** 2)
        self.load(self.best)
        return None if set(self.wanted) & self.orders.left else plan_of(self.board, self.orders.left)

    # --- one step -------------------------------------------------------------------------------------------------

    def _begin_at(self, number: int, steps: int) -> None:
        """Exchanges of the plan at hand first, then on from the best of them."""
        if 2 * number < steps:
            self.now = self.at_hand
            self.load(self.now)
        elif 2 * number < steps + 2:
            self.now = self.best
            self.load(self.now)

    def step(self, heat: float) -> bool:
        """Take the order and its neighbours of one day off, put them back, keep what is better."""
        self.steps += 1
        self._remove([self.order])
        self._remove(self._neighbours())
        self._lay_back()
        return self._judge(heat)

    def _neighbours(self) -> list[int]:
        """Some teams of one of the order's days, or some orders of its days."""
        rng, day = self.rng, self.rng.choice(self.days)
        teams = list(self.board.teams[day])
        if teams and rng.random() < 0.6:
            chosen = rng.sample(teams, min(len(teams), rng.randint(1, 3)))
            return [o for team in chosen for stop in team.stops for o, _, _ in stop.kind.jobs]
        days = [day] if rng.random() < 0.5 else self.days
        near = sorted({o for d in days for team in self.board.teams[d] for stop in team.stops for o, _, _ in stop.kind.jobs})
        return rng.sample(near, min(len(near), rng.randint(1, 4)))

    def _lay_back(self) -> None:
        """First what is asked for, then what was taken off or fell out before."""
        back = sorted(self.orders.left - set(self.wanted))
        for order in [*self.wanted, *sorted(back, key=self._sequence())]:
            if order in self.orders.left:
                self.orders.add(order)

    # --- very small problems ----------------------------------------------------------------------------------------

    def _small(self) -> bool:
        if len(self.orders.left_cents) > MOST_EXACT_ORDERS:
            return False
        per_day = [0] * self.board.facts.days
        for kind in self.board.kinds.all():
            for day in kind.fields:
                per_day[day] += 1
        return sum(n * n for n in per_day) <= MOST_EXACT_STEPS

    def _exact(self) -> Plan | None:
        left_cents = [0.0 if o in self.orders.must else cents for o, cents in enumerate(self.orders.left_cents)]
        model = whole_problem(self.board, self.board.kinds.all(), left_cents, frozenset(self.orders.must))
        crewed = model.solve(EXACT_S, 1, self.steps)
        if crewed.status not in ("optimal", "feasible"):
            return None
        self.load(([list(crewed.teams.get(day, [])) for day in range(self.board.facts.days)], crewed.left, 0.0))
        return plan_of(self.board, self.orders.left)


__all__ = ["ANY_DAY", "KEEP_CENTS", "Only", "force_in"]
