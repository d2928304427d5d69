"""The exact optimum of a tiny problem by trying everything: orders, modes, days, starts, people, ride-alongs.

A branch is cut only where it must be: when a rule that no further visit can mend is broken, or when what is decided so far
plus the least that the rest can cost is no better than the best plan found. Every part of the cost only grows with visits.
A day whose visits break a rule by themselves is remembered, as most plans are made of the same days.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import combinations, product

from scheduling.fortnight.check import CHECKS, check
from scheduling.fortnight.check.money import COUNTS, count_parts, lateness, likely_aborts, lost_energy, overtime, travel
from scheduling.fortnight.check.view import View
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Mode, Order, Problem
from scheduling.fortnight.room import Room

MENDABLE = {"known", "complete", "team size", "cover", "break", "sequence", "pin", "crew", "value"}
"""Rules that a plan in the making may break and a later visit mend (the first of two visits may look like another mode)."""
MARGIN = 1.0
"""Cents: plans that are cheaper by less are not looked for. Costs are compared before their parts are rounded."""
WITH_LODGINGS = {"shift", "rest", "weekly hours"}
"""Rules that a night away may mend."""
SAVED_BY_NIGHTS = (travel, overtime)
"""Parts of the cost that it may make less."""


class TooLarge(Exception):
    """More branches than the caller wants to wait for."""


def optimum(problem: Problem, most_branches: int = 20_000, known: Plan | None = None) -> Plan | None:
    """The cheapest plan that keeps every rule; None if there is none (pins). Raises TooLarge.

    `known` is a plan that keeps the rules: only cheaper ones are looked for, and it is the answer where there are none.
    """
    search = _Search(problem, most_branches, known)
    search.decide(0, [], [])
    return search.best


def cents(problem: Problem, plan: Plan) -> float:
    """What the plan costs, before its parts are rounded."""
    view = View(problem, plan)
    return float(sum(count(view) for count in COUNTS.values()))


class _Search:
    def __init__(self, problem: Problem, most_branches: int, known: Plan | None) -> None:
        self.problem, self.left = problem, most_branches
        self.room = Room(problem)
        self.mendable = MENDABLE | (WITH_LODGINGS if problem.lodgings else set())
        self.orders = sorted(problem.orders, key=lambda o: -o.left_out_cost)
        self.best = known
        self.best_cents = cents(problem, known) if known else float("inf")
        self.days: dict[tuple[Visit, ...], bool] = {}
        self.options = {
            (order.id, i, number): self._options(order, mode, number)
            for order in self.orders
            for i, mode in enumerate(order.modes)
            for number in range(len(mode.visits_min))
        }
        self.out_cost = {o.id: o.left_out_cost + self._all_changed(o) for o in self.orders}
        least = [min(self.out_cost[o.id], self._least(o)) for o in self.orders]
        self.least_of_rest = [sum(least[k:]) for k in range(len(least) + 1)]

    # --- what there is to try -----------------------------------------------------------------------------------

    def _options(self, order: Order, mode: Mode, number: int) -> list[tuple[float, Visit]]:
        """(cost that no company can lower, visit) for each start and set of people that is fine by itself."""
        job, found = Job(order.id, number, mode.visits_min[number]), []
        seats = max((v.seats for v in self.problem.vehicles), default=0)
        ids = [person.id for person in self.problem.people]
        for day in self.room.days_open(order, job):
            for draft in self.room.drafts(order, job, day):
                for size in range(mode.team, seats + 1):
                    for people in combinations(ids, size):
                        visit = replace(draft, people=people, vehicle=self.problem.vehicles[0].id)
                        if self.plan_of([visit]) is not None and self.room.has_what_it_takes(order, mode, visit):
                            found.append((self._own_cost(order, visit, mode), visit))
        return sorted(found, key=lambda option: option[0])

    def _own_cost(self, order: Order, visit: Visit, mode: Mode) -> float:
        view = View(self.problem, Plan((visit,), ()))
        late = lateness(view) if len(mode.visits_min) == 1 else 0  # else the visit before may count it already
        return late + (0 if self._has_mates(order) else lost_energy(view) + likely_aborts(view))

    def _has_mates(self, order: Order) -> bool:
        others = [o for o in self.orders if o.id != order.id and o.turbine == order.turbine and o.ride_along]
        return order.ride_along and bool(others)

    def _all_changed(self, order: Order) -> int:
        return sum(p.change_cost for p in self.problem.published if p.order == order.id)

    def _least(self, order: Order) -> float:
        """The least an order can cost if it is done."""
        return min(
            sum(
                min((cost for cost, _ in self.options[order.id, i, number]), default=float("inf"))
                for number in range(len(mode.visits_min))
            )
            for i, mode in enumerate(order.modes)
        )

    # --- the tree -----------------------------------------------------------------------------------------------

    def decide(self, k: int, visits: list[Visit], left_out: list[str]) -> None:
        """Try everything for the orders from the k-th on."""
        if k == len(self.orders):
            return self._finish(visits, left_out)
        order = self.orders[k]
        for i, mode in enumerate(order.modes):
            self._place(k, i, mode, 0, -1, visits, left_out)
        if not order.pins and self._may_win(k + 1, visits, [*left_out, order.id]):
            self.decide(k + 1, visits, [*left_out, order.id])
        return None

    def _place(self, k: int, i: int, mode: Mode, number: int, last: int, visits: list[Visit], left_out: list[str]) -> None:
        if number == len(mode.visits_min):
            return self.decide(k + 1, visits, left_out)
        order = self.orders[k]
        for joined in self._rides(order, mode, Job(order.id, number, mode.visits_min[number]), visits):
            self._try(k, i, mode, number, last, joined, left_out)
        so_far = self._value(k, visits, left_out)
        for cost, visit in self.options[order.id, i, number]:
            if so_far + cost + self.least_of_rest[k + 1] >= self.best_cents - MARGIN:
                break
            self._try(k, i, mode, number, last, [*visits, visit], left_out)
        return None

    def _try(self, k: int, i: int, mode: Mode, number: int, last: int, visits: list[Visit], left_out: list[str]) -> None:
        order = self.orders[k]
        day = next(v.day for v in visits if any((j.order, j.visit) == (order.id, number) for j in v.jobs))
        gap = order.max_gap_days if order.max_gap_days is not None and number else len(self.problem.days)
        in_row = last < day <= (last + gap if number else day)
        if in_row and self.plan_of(visits) is not None and self._may_win(k + 1, visits, left_out):
            self._place(k, i, mode, number + 1, day, visits, left_out)

    def _rides(self, order: Order, mode: Mode, job: Job, visits: list[Visit]) -> list[list[Visit]]:
        """The visits with the job riding along on one of them, for each that may take it."""
        found = []
        for n, visit in enumerate(visits):
            orders = self.room.view.job_orders(visit)
            if visit.turbine == order.turbine and all(o.ride_along for o in [order, *orders]) and order not in orders:
                jobs = (*visit.jobs, job)
                stay = self.room.view.stay(visit.turbine, visit.day, jobs)
                longer = replace(visit, jobs=jobs, slots=stay.slots, by=stay.by)
                longer = replace(longer, chance=self.room.view.chance(longer))
                if self.room.has_what_it_takes(order, mode, longer):
                    found.append([*visits[:n], longer, *visits[n + 1 :]])
        return found

    def _may_win(self, k: int, visits: list[Visit], left_out: list[str]) -> bool:
        self.left -= 1
        if self.left < 0:
            raise TooLarge(f"{self.problem.name}: too many branches")
        return self._value(k, visits, left_out) + self.least_of_rest[k] < self.best_cents - MARGIN

    def _value(self, k: int, visits: list[Visit], left_out: list[str]) -> float:
        """Cost of what is decided about the first k orders (the k-th may be under way)."""
        done = {job.order for visit in visits for job in visit.jobs}
        undecided = [o for o in self.orders if o.id not in done and o.id not in left_out]
        under_way = sum(self._not_yet(order_id, visits) for order_id in done)
        plan = Plan(tuple(visits), tuple(left_out))
        saved = sum(part(View(self.problem, plan)) for part in SAVED_BY_NIGHTS) if self.problem.lodgings else 0.0
        return cents(self.problem, plan) - saved - sum(self.out_cost[o.id] for o in undecided) - under_way

    def _not_yet(self, order_id: str, visits: list[Visit]) -> int:
        """Change counted for published visits of an order that may still be placed."""
        placed = {job.visit for visit in visits for job in visit.jobs if job.order == order_id}
        return sum(p.change_cost for p in self.problem.published if p.order == order_id and p.visit not in placed)

    # --- plans --------------------------------------------------------------------------------------------------

    def plan_of(self, visits: list[Visit]) -> Plan | None:
        """The visits with teams and vehicles, or None when a rule is broken that no further visit can mend."""
        named = self._with_vehicles(visits)
        if named is None:
            return None
        by_day: dict[int, list[Visit]] = defaultdict(list)
        for visit in named:
            by_day[visit.day].append(visit)
        if not all(self._may_stand(tuple(one)) for one in by_day.values()):
            return None
        plan = Plan(tuple(named), ())
        return plan if len(by_day) == 1 or self._keeps(plan) else None

    def _may_stand(self, visits: tuple[Visit, ...]) -> bool:
        """Whether the visits of one day break no rule by themselves."""
        if visits not in self.days:
            self.days[visits] = self._keeps(Plan(visits, ()))
        return self.days[visits]

    def _keeps(self, plan: Plan) -> bool:
        view = View(self.problem, plan)
        return all(next(rule(view), None) is None for name, rule in CHECKS.items() if name not in self.mendable)

    def _with_vehicles(self, visits: list[Visit]) -> list[Visit] | None:
        teams: dict[int, list[frozenset[str]]] = defaultdict(list)
        for visit in visits:
            if frozenset(visit.people) not in teams[visit.day]:
                teams[visit.day].append(frozenset(visit.people))
        vans = sorted(self.problem.vehicles, key=lambda v: -v.seats)
        chosen: dict[tuple[int, frozenset[str]], tuple[int, str]] = {}
        slept = {(visit.day, frozenset(visit.people)) for visit in visits if visit.starts_from}
        for day, sets in sorted(teams.items()):
            kept = {who: chosen[day - 1, who][1] for who in sets if (day, who) in slept and (day - 1, who) in chosen}
            free = [van for van in vans if van.id not in kept.values()]
            if len(sets) > len(vans):
                return None
            for number, people in enumerate(sorted(sets, key=lambda s: (-len(s), sorted(s)))):
                van = next(v for v in vans if v.id == kept[people]) if people in kept else free.pop(0)
                if len(people) > van.seats:
                    return None
                chosen[day, people] = (number, van.id)
        named = [(visit, chosen[visit.day, frozenset(visit.people)]) for visit in visits]
        return [replace(visit, team=number, vehicle=van) for visit, (number, van) in named]

    def _finish(self, visits: list[Visit], left_out: list[str]) -> None:
        for slept in self._nights(visits):
            named = self._with_vehicles(slept)
            if named is None:
                continue
            plan = Plan(tuple(named), tuple(left_out))
            plan = replace(plan, parts=count_parts(View(self.problem, plan)))
            value = cents(self.problem, plan)
            if value < self.best_cents - MARGIN and not check(self.problem, plan):
                self.best, self.best_cents = plan, value

    def _nights(self, visits: list[Visit]) -> list[list[Visit]]:
        """The visits with each team that is out on two days in a row at home or at a lodging in between."""
        teams = {(visit.day, frozenset(visit.people)) for visit in visits}
        nights = sorted(((day, who) for day, who in teams if (day + 1, who) in teams), key=lambda n: (n[0], sorted(n[1])))
        places = ("", *(lodging.id for lodging in self.problem.lodgings))
        return [
            [
                replace(
                    visit,
                    starts_from=chosen.get((visit.day - 1, frozenset(visit.people)), ""),
                    ends_at=chosen.get((visit.day, frozenset(visit.people)), ""),
                )
                for visit in visits
            ]
            for some in product(places, repeat=len(nights))
            for chosen in [dict(zip(nights, some, strict=True))]
        ]
