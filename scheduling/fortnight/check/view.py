"""A plan laid over its problem: look-ups, lengths of stays, chances, hops and routes, straight from the definitions.

Visits that name something unknown are kept out of `View.visits` (the rule "known" reports them), so that no other rule
needs to look twice.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from scheduling.bits import unpack_members
from scheduling.fortnight.plan import Job, Plan, Violation, Visit
from scheduling.fortnight.problem import Access, Order, Person, Problem, Shift


@dataclass(frozen=True)
class Stay:
    """A stay by its definition: whole slots, the way up, and whether a break of break_min is built in."""

    slots: int
    by: str
    minutes: int
    has_break: bool


@dataclass(frozen=True)
class Route:
    """One team's day, in start order.

    leaves, returns      slots of the day, hops rounded up (what shifts are compared with)
    leaves_min, returns_min  minutes after slot 0 of the day, hops to the minute
    hops_min             minutes of each hop: base, between visits, base
    starts_from, ends_at  lodgings where it begins and ends, "" for the base
    """

    day: int
    people: tuple[str, ...]
    visits: tuple[Visit, ...]
    leaves: int
    returns: int
    leaves_min: int
    returns_min: int
    hops_min: tuple[int, ...]
    starts_from: str = ""
    ends_at: str = ""

    @property
    def away_min(self) -> int:
        """Minutes from base to base (or lodging)."""
        return self.returns_min - self.leaves_min

    @property
    def orders(self) -> tuple[str, ...]:
        """Orders worked on, in start order."""
        return tuple(job.order for visit in self.visits for job in visit.jobs)


class View:
    """One plan over one problem. Everything here is derived; nothing is trusted from the plan but who, where and when."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem = problem
        self.plan = plan
        self.turbines = {t.id: t for t in problem.turbines}
        self.people = {p.id: p for p in problem.people}
        self.vehicles = {v.id: v for v in problem.vehicles}
        self.equipment = {e.id: e for e in problem.equipment}
        self.orders = {o.id: o for o in problem.orders}
        self.lodgings = {one.id: one for one in problem.lodgings}
        self.visits = tuple(visit for visit in plan.visits if self.is_known(visit))
        self._members: dict[str, NDArray[np.bool_]] = {}
        self._hops: dict[tuple[str | None, str | None], int] = {}

    def with_plan(self, plan: Plan) -> View:
        """Another plan of known things over the same problem; what hangs on the problem alone is kept."""
        twin = copy(self)
        twin.plan, twin.visits = plan, plan.visits
        for derived in ("routes", "planned"):
            twin.__dict__.pop(derived, None)
        return twin

    def is_known(self, visit: Visit) -> bool:
        """Whether turbine, day, vehicle, people and orders of the visit all exist."""
        return (
            visit.turbine in self.turbines
            and 0 <= visit.day < len(self.problem.days)
            and visit.vehicle in self.vehicles
            and all(person in self.people for person in visit.people)
            and all(job.order in self.orders for job in visit.jobs)
            and {visit.starts_from, visit.ends_at} <= {"", *self.lodgings}
        )

    # --- people -------------------------------------------------------------------------------------------------

    @cached_property
    def shifts(self) -> dict[tuple[str, int], Shift]:
        """(person, day) -> shift."""
        return {(person.id, shift.day): shift for person in self.problem.people for shift in person.shifts}

    def team(self, visit: Visit) -> list[Person]:
        """The people of a visit, each once."""
        return [self.people[one] for one in dict.fromkeys(visit.people)]

    def is_fit(self, person: Person, day: int) -> bool:
        """Counts for team size and skills: base certificates valid, not a learner, on shift."""
        return day in person.fit_days and not person.learner and (person.id, day) in self.shifts

    def holds(self, person: Person, skill: str, level: int, day: int) -> bool:
        """Whether the person holds `skill` at `level` or above on the day."""
        return any(held.skill == skill and held.level >= level and day in held.days for held in person.skills)

    # --- stays --------------------------------------------------------------------------------------------------

    def job_orders(self, visit: Visit) -> list[Order]:
        """The orders of a visit's jobs, in the plan's sequence."""
        return [self.orders[job.order] for job in visit.jobs]

    def way_up(self, turbine: str, day: int, orders: Iterable[Order]) -> Access:
        """Turbine.access of the day, or the orders' own (the slowest) when they open climbing or go behind those that do."""
        usual = self.turbines[turbine].access[day]
        goes = [order for order in orders if order.opens_climbing or (order.behind and usual.by == "none")]
        own = [order.access for order in goes if order.access is not None]
        return max(own, key=lambda a: a.up_min + a.down_min) if own else usual

    def stay(self, turbine: str, day: int, jobs: Iterable[Job]) -> Stay:
        """Length of one stay for these jobs; see the definition of `stay`."""
        jobs = tuple(jobs)
        orders = [self.orders[job.order] for job in jobs]
        access, rules = self.way_up(turbine, day, orders), self.problem.rules
        minutes = access.up_min + sum(j.work_min for j in jobs) + sum(o.pack_min for o in orders) + access.down_min
        slot_min = self.problem.slot_min
        has_break = -(-minutes // slot_min) * slot_min + 2 * self.hop_min(None, turbine) > rules.break_after_min
        minutes += rules.break_min if has_break else 0
        return Stay(-(-minutes // slot_min), access.by, minutes, has_break)

    def stay_of(self, visit: Visit) -> Stay:
        """The stay that the visit's jobs ask for (the visit itself may claim another length)."""
        return self.stay(visit.turbine, visit.day, visit.jobs)

    def columns(self, visit: Visit) -> slice:
        """Columns of weather and energy under the visit, cut to its day."""
        day = self.problem.days[visit.day]
        start = min(max(visit.start, 0), day.slots)
        end = min(max(visit.start + visit.slots, start), day.slots)
        return slice(day.first_slot + start, day.first_slot + end)

    def minute(self, day: int, slot: int) -> int:
        """Minutes from the horizon's origin to the start of a slot."""
        return self.problem.days[day].start_min + slot * self.problem.slot_min

    def members(self, window: str) -> NDArray[np.bool_]:
        """bool [members, total slots] of a window key."""
        if window not in self._members:
            packed = self.problem.workable[window]
            self._members[window] = unpack_members(packed, self.problem.members, self.problem.total_slots)
        return self._members[window]

    def chance(self, visit: Visit) -> float:
        """Share of members in which every slot is workable for every window of every order; 0 for an empty stretch."""
        columns = self.columns(visit)
        if columns.stop <= columns.start or not visit.jobs:
            return 0.0
        holds = np.ones(self.problem.members, dtype=bool)
        for window in {key for order in self.job_orders(visit) for key in (order.window, *order.also)}:
            holds &= self.members(window)[:, columns].all(axis=1)
        return int(holds.sum()) / self.problem.members

    def stops(self, visit: Visit) -> set[str]:
        """Turbines that stand still for the visit."""
        return {turbine for order in self.job_orders(visit) for turbine in order.stops}

    # --- travel -------------------------------------------------------------------------------------------------

    def hop_min(self, here: str | None, there: str | None) -> int:
        """Minutes between two turbines; None is the base."""
        if here is not None and here == there:
            return 0
        if (here, there) not in self._hops:
            (x1, y1), (x2, y2) = self._place(here), self._place(there)
            p = self.problem
            self._hops[here, there] = p.hop_fixed_min + math.ceil(60 * math.hypot(x2 - x1, y2 - y1) / p.speed_kmh)
        return self._hops[here, there]

    def home_min(self, lodging: str, turbine: str) -> int:
        """Minutes between a turbine and a lodging, or the base ("")."""
        if not lodging:
            return self.hop_min(None, turbine)
        bed, (x, y), p = self.lodgings[lodging], self._place(turbine), self.problem
        return p.hop_fixed_min + math.ceil(60 * math.hypot(x - bed.x_km, y - bed.y_km) / p.speed_kmh)

    def hop_slots(self, here: str | None, there: str | None) -> int:
        """The hop in whole slots, rounded up."""
        return -(-self.hop_min(here, there) // self.problem.slot_min)

    def _place(self, turbine: str | None) -> tuple[float, float]:
        if turbine is None:
            return self.problem.base_x_km, self.problem.base_y_km
        return self.turbines[turbine].x_km, self.turbines[turbine].y_km

    @cached_property
    def routes(self) -> tuple[Route, ...]:
        """Teams' days: visits of one day with the same people, in start order."""
        groups: dict[tuple[int, frozenset[str]], list[Visit]] = defaultdict(list)
        for visit in self.visits:
            groups[visit.day, frozenset(visit.people)].append(visit)
        return tuple(self.route(visits) for _, visits in sorted(groups.items(), key=lambda g: (g[0][0], sorted(g[0][1]))))

    def route(self, visits: Iterable[Visit]) -> Route:
        """The route of visits made by one team on one day."""
        stops = tuple(sorted(visits, key=lambda v: (v.start, v.start + v.slots)))
        first, last, slot_min = stops[0], stops[-1], self.problem.slot_min
        between = (self.hop_min(a.turbine, b.turbine) for a, b in pairwise(stops))
        out, back = self.home_min(first.starts_from, first.turbine), self.home_min(last.ends_at, last.turbine)
        end = max(v.start + v.slots for v in stops)
        return Route(
            day=first.day,
            people=tuple(dict.fromkeys(first.people)),
            visits=stops,
            leaves=first.start - -(-out // slot_min),
            returns=end + -(-back // slot_min),
            leaves_min=first.start * slot_min - out,
            returns_min=end * slot_min + back,
            hops_min=(out, *between, back),
            starts_from=first.starts_from,
            ends_at=last.ends_at,
        )

    # --- orders -------------------------------------------------------------------------------------------------

    @cached_property
    def planned(self) -> dict[str, list[tuple[Job, Visit]]]:
        """Order id -> its jobs with their visits, by visit number."""
        found: dict[str, list[tuple[Job, Visit]]] = defaultdict(list)
        for visit in self.visits:
            for job in visit.jobs:
                found[job.order].append((job, visit))
        for jobs in found.values():
            jobs.sort(key=lambda pair: (pair[0].visit, pair[1].day, pair[1].start))
        return dict(found)

    def team_asked(self, order: Order) -> int:
        """People the planned mode asks for; the smallest team of the order if its visits match no mode."""
        minutes = tuple(job.work_min for job, _ in self.planned.get(order.id, ()))
        fitting = [mode.team for mode in order.modes if mode.visits_min == minutes]
        return min(fitting or [mode.team for mode in order.modes])

    def at(self, visit: Visit) -> str:
        """Where and when, for a sentence: "T3 on 2026-03-02, slot 4"."""
        return f"{visit.turbine} on {self.problem.days[visit.day].date}, slot {visit.start}"


def overlaps(a: Visit, b: Visit) -> int:
    """Slots in which both visits run, 0 on different days."""
    if a.day != b.day:
        return 0
    return max(0, min(a.start + a.slots, b.start + b.slots) - max(a.start, b.start))


def breach(rule: str, text: str, visit: Visit | None = None, amount: float = 0.0, people: Iterable[str] = ()) -> Violation:
    """A violation at a visit: its day and orders are filled in."""
    orders = tuple(job.order for job in visit.jobs) if visit else ()
    return Violation(rule, text, orders=orders, people=tuple(people), day=visit.day if visit else None, amount=float(amount))
