"""What stands so far, slot by slot, and which days, starts and places are left beside it; people are the business of room.py."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator
from copy import copy
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.view import Route, View
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Order, Problem

T = TypeVar("T")


class Place:
    """What stands so far, slot by slot, and what still fits.

    days     visits by day
    worked, stopped, closed  bool [turbines, columns]: worked on, standing still, isolated by a visit elsewhere
    use      equipment id -> visits using it, int [columns]
    """

    def __init__(self, problem: Problem, visits: Iterable[Visit] = ()) -> None:
        self.problem = problem
        self.view = View(problem, Plan((), ()))
        self.rows = {turbine.id: i for i, turbine in enumerate(problem.turbines)}
        shape = (len(self.rows), problem.total_slots)
        self.days: list[list[Visit]] = [[] for _ in problem.days]
        self._routes: dict[str, list[Route]] = {}
        self._known: dict[Any, Any] = {}
        self._site_rows = {
            site: [i for i, turbine in enumerate(problem.turbines) if turbine.site == site] for site in problem.rules.max_stopped
        }
        self.worked, self.stopped, self.closed = (np.zeros(shape, dtype=bool) for _ in range(3))
        self.use = {piece.id: np.zeros(problem.total_slots, dtype=np.int64) for piece in problem.equipment}
        last: dict[str, Visit] = {}
        for visit in sorted(visits, key=lambda v: (v.day, v.start)):
            before = {job.order: last[job.order] for job in visit.jobs if job.order in last}
            self.put(visit, before)
            last.update((job.order, visit) for job in visit.jobs)

    def copy(self) -> Self:
        """A twin that may be filled without changing this one."""
        twin = copy(self)
        twin._routes = dict(self._routes)
        twin.days = [list(visits) for visits in self.days]
        twin.stopped, twin.worked, twin.closed = self.stopped.copy(), self.worked.copy(), self.closed.copy()
        twin.use = {piece: row.copy() for piece, row in self.use.items()}
        return twin

    def put(self, visit: Visit, before: dict[str, Visit]) -> None:
        """Place a visit; `before` holds the visit before this one of each of its orders, where there is one."""
        self.days[visit.day].append(visit)
        self._known = {}  # not cleared: a twin may still go by the old one
        for person in visit.people:
            self._routes.pop(person, None)
        columns = self.view.columns(visit)
        self.worked[self.rows[visit.turbine], columns] = True
        for turbine in self.view.stops(visit):
            self.stopped[self.rows[turbine], columns] = True
            self.closed[self.rows[turbine], columns] |= turbine != visit.turbine
        for order in self.view.job_orders(visit):
            if order.stopped_between and order.id in before:
                self.stopped[self.rows[visit.turbine], self.view.columns(before[order.id]).stop : columns.start] = True
        for piece in {piece for order in self.view.job_orders(visit) for piece in order.equipment}:
            self.use[piece][columns] += 1

    # --- days and starts ----------------------------------------------------------------------------------------

    def days_open(self, order: Order, job: Job, before: Visit | None = None) -> list[int]:
        """Days left by the order's days, access, equipment, pins and the visit before."""
        first, last = 0, len(self.problem.days) - 1
        if before:
            first = before.day + 1
            last = last if order.max_gap_days is None else min(last, before.day + order.max_gap_days)
        days = [day for day in sorted(order.days) if first <= day <= last and self.can_climb(order, day)]
        pinned = {day for number, day, _ in order.pins if number == job.visit}
        days = [day for day in days if not pinned or day in pinned]
        return [day for day in days if all(day in self.view.equipment[piece].days for piece in order.equipment)]

    def can_climb(self, order: Order, day: int) -> bool:
        """Whether the turbine may be climbed for this order on the day, once what it is behind is done."""
        goes = order.opens_climbing or (order.behind and order.access is not None)
        return bool(goes) or self.view.turbines[order.turbine].access[day].by != "none"

    def chances(self, order: Order, job: Job, day: int) -> NDArray[np.float64]:
        """Chance of the stay at each start of the day, float [starts]; empty if the stay is longer than the day."""
        record, slots = self.problem.days[day], self.view.stay(order.turbine, day, [job]).slots
        if slots > record.slots:
            return np.zeros(0)
        hours = slice(record.first_slot, record.first_slot + record.slots)
        misses = ~np.logical_and.reduce([self.view.members(key)[:, hours] for key in (order.window, *order.also)])
        so_far = np.concatenate((np.zeros((len(misses), 1), dtype=np.int64), misses.cumsum(axis=1)), axis=1)
        good: NDArray[np.int64] = (so_far[:, slots:] == so_far[:, :-slots]).sum(axis=0)
        return good / self.problem.members

    def drafts(self, order: Order, job: Job, day: int) -> Iterator[Visit]:
        """Visits without people at every start with enough chance (and at the pinned start only, if pinned)."""
        stay = self.view.stay(order.turbine, day, [job])
        pinned = [slot for number, _, slot in order.pins if number == job.visit]
        for start, chance in enumerate(self.chances(order, job, day).tolist()):
            if chance >= self.problem.rules.confidence and (not pinned or start in pinned):
                yield Visit(order.turbine, day, start, stay.slots, -1, (job,), (), "", chance, stay.by)

    # --- the place ----------------------------------------------------------------------------------------------

    def is_place_free(self, order: Order, draft: Visit, before: Visit | None = None) -> bool:
        """Turbine, isolations, equipment and the number of turbines that stand still."""
        columns = self.view.columns(draft)
        stops = [self.rows[turbine] for turbine in order.stops]
        if self.worked[stops, columns].any() or self.closed[self.rows[order.turbine], columns].any():
            return False
        return self.is_equipment_free(order, columns) and self._may_stand(order, columns, before)

    def is_equipment_free(self, order: Order, columns: slice) -> bool:
        """Whether every piece the order needs is left in all these columns."""
        return all(self.use[e][columns].max(initial=0) < self.view.equipment[e].capacity for e in order.equipment)

    def _may_stand(self, order: Order, columns: slice, before: Visit | None) -> bool:
        between = order.stopped_between and before is not None
        first = self.view.columns(before).stop if between and before else columns.start
        stopped = self.stopped[:, first : columns.stop].copy()
        stopped[[self.rows[turbine] for turbine in order.stops], columns.start - first :] = True
        stopped[self.rows[order.turbine]] |= between
        for site, limit in self.problem.rules.max_stopped.items():
            if stopped[self._site_rows[site]].sum(axis=0).max(initial=0) > limit:
                return False
        return True

    def is_after_others(self, order: Order, draft: Visit) -> bool:
        """Whether the orders that come first are finished before the first visit, and its wait is over."""
        if not order.after or draft.jobs[0].visit > 0:
            return True
        last = self._remember("last", lambda: {j.order: v for visits in self.days for v in visits for j in v.jobs})
        start = self._moment(draft.day, draft.start) - order.after_gap_min
        return all(earlier in last and self._end(order, earlier, last[earlier]) <= start for earlier in order.after)

    def _end(self, order: Order, earlier: str, last: Visit) -> int:
        """When an order that comes first counts as done, by its last visit: what opens a gate at the end of that day."""
        opens = earlier in order.behind
        return self._moment(last.day, self.problem.days[last.day].slots if opens else last.start + last.slots)

    def _moment(self, day: int, slot: int) -> int:
        """Minutes from the horizon's origin."""
        return self.problem.days[day].start_min + slot * self.problem.slot_min

    def _remember(self, key: Hashable, make: Callable[[], T]) -> T:
        """What was worked out for this key since the last visit was put here."""
        if key not in self._known:
            self._known[key] = make()
        found: T = self._known[key]
        return found
