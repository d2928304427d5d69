"""A plan with what reasons ask of it, worked out once for all its orders: who has time, which chance, what stands where."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.money import COUNTS
from scheduling.fortnight.explain.chances import Chances
from scheduling.fortnight.explain.gaps import Gaps
from scheduling.fortnight.explain.hours import Hours
from scheduling.fortnight.explain.words import Clock
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Order, Problem
from scheduling.fortnight.room import Room


class Surroundings:
    """`empty` is the room without a plan, `room` the room beside the plan; `days` int [columns]: the day of each column."""

    def __init__(self, problem: Problem, plan: Plan, clock: Clock) -> None:
        self.problem, self.plan, self.clock = problem, plan, clock
        self.empty, self.room = Room(problem), Room(problem, plan.visits)
        self.planned = {job.order for visit in plan.visits for job in visit.jobs}
        self.chances = Chances(self.room.view)
        self.days = self.chances.days
        self.crews: dict[Hashable, dict[Hashable, bool]] = {}
        self._taken: dict[Hashable, NDArray[np.int64]] = {}

    @cached_property
    def hours(self) -> Hours:
        """Who has time, were there no other work."""
        return Hours(self.empty, self.days)

    @cached_property
    def hours_beside(self) -> Hours:
        """Who has time and is in no team of the plan that day."""
        return Hours(self.room, self.days)

    @cached_property
    def gaps(self) -> Gaps:
        """Between which visits of the plan's teams more has room."""
        return Gaps(self.room)

    @cached_property
    def _counted(self) -> dict[str, float]:
        """The parts of the plan's cost, counted again, before rounding."""
        return {name: count(self.room.view.with_plan(self.plan)) for name, count in COUNTS.items()}

    def cost_of(self, order: Order, visits: Sequence[Visit]) -> int:
        """By how much the plan's cost grows with these visits of an order that it leaves out, what it saves left aside.

        Only what stands beside them is counted, with and without them: the day of the same people (all teams of the day where
        some work together gladly), and visits with the same equipment.
        """
        days = {visit.day for visit in visits} if self.problem.prefer else set[int]()
        teams = {(visit.day, frozenset(visit.people)) for visit in visits}
        beside = [
            v
            for v in self.plan.visits
            if v.day in days or (v.day, frozenset(v.people)) in teams or self._shares(order.equipment, v)
        ]
        view = self.room.view
        without, grown = view.with_plan(Plan(tuple(beside), ())), view.with_plan(Plan((*beside, *visits), ()))
        cents = order.left_out_cost
        for name, count in COUNTS.items():
            was = self._counted[name]
            cents += round(was + (count(grown) - count(without))) - round(was)
        return cents

    def _shares(self, pieces: tuple[str, ...], visit: Visit) -> bool:
        return bool(pieces) and any(set(pieces) & set(order.equipment) for order in self.room.view.job_orders(visit))

    @cached_property
    def _stopped(self) -> dict[str, NDArray[np.int64]]:
        """Site with a limit -> int [columns]: turbines that stand still."""
        of = {t.id: t.site for t in self.problem.turbines}
        rows = {site: [row for t, row in self.room.rows.items() if of[t] == site] for site in self.problem.rules.max_stopped}
        return {site: self.room.stopped[own].sum(axis=0) for site, own in rows.items()}

    def is_place_free(self, order: Order, slots: int) -> NDArray[np.bool_]:
        """bool [columns]: Room.is_place_free for a first visit of so many slots that starts there and ends that day."""
        key = ("place", order.turbine, order.stops, order.equipment)
        if key not in self._taken:
            self._taken[key] = np.concatenate(([0], np.cumsum(self._is_taken(order))))
        taken, columns = self._taken[key], np.arange(len(self.days))
        free: NDArray[np.bool_] = taken[np.minimum(columns + slots, len(self.days))] == taken[columns]
        return free

    def _is_taken(self, order: Order) -> NDArray[np.bool_]:
        """bool [columns]: something of the order's place is taken in that slot."""
        room, stops = self.room, sorted({self.room.rows[turbine] for turbine in order.stops})
        taken: NDArray[np.bool_] = room.worked[stops].any(axis=0) | room.closed[room.rows[order.turbine]]
        for piece in order.equipment:
            taken |= room.use[piece] >= room.view.equipment[piece].capacity
        for site, limit in self.problem.rules.max_stopped.items():
            own = [room.rows[t] for t in dict.fromkeys(order.stops) if room.view.turbines[t].site == site]
            taken |= self._stopped[site] + (~room.stopped[own]).sum(axis=0) > limit
        return taken
