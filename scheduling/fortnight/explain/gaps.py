"""Between which visits of a plan's teams one more stay may lie, by hops, shifts, weekly hours and rest, all teams at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.view import Route
from scheduling.fortnight.plan import Visit
from scheduling.fortnight.problem import Order
from scheduling.fortnight.room import FAR_MIN, Room, Spare

Gap = tuple[int, int, Visit]
"""First start, last start (slots of the day), and a visit of the team: its team, people and vehicle."""


class Gaps:
    """Every gap of every team of one room; the base, before the first visit and after the last, is the last row of the hops."""

    def __init__(self, room: Room) -> None:
        self.room, self.slot_min = room, room.problem.slot_min
        self.base = len(room.rows)
        self._rows: list[tuple[int, int, int, int, int, int, int]] = []
        self.visits: list[Visit] = []
        for visits in room.days:
            teams: dict[frozenset[str], list[Visit]] = {}
            for visit in visits:
                teams.setdefault(frozenset(visit.people), []).append(visit)
            for mates in teams.values():
                self._add(room.view.route(mates))
        self.day, self.before, self.behind, self.from_slot, self.from_min, self.to_slot, self.to_min = (
            np.array(self._rows, np.int64).reshape(-1, 7).T
        )
        self._hops: dict[str, NDArray[np.int64]] = {}

    def _add(self, route: Route) -> None:
        """The gaps of one team's day that somebody of it can use."""
        rules, everybody = self.room.problem.rules, [self.room.spare(person, route.day) for person in route.people]
        left = [one for one in everybody if one is not None]
        if len(left) < len(everybody) or len(route.visits) >= rules.climbs_a_day:
            return
        first, last = self._leave(route, left), self._return(route, left)
        ends = [
            (first[0], first[1], self.base),
            *((v.start + v.slots, -FAR_MIN, self.room.rows[v.turbine]) for v in route.visits),
        ]
        starts = [*((v.start, FAR_MIN, self.room.rows[v.turbine]) for v in route.visits), (last[0], last[1], self.base)]
        for (from_slot, from_min, before), (to_slot, to_min, behind) in zip(ends, starts, strict=True):
            self._rows.append((route.day, before, behind, from_slot, from_min, to_slot, to_min))
            self.visits.append(route.visits[0])

    def _leave(self, route: Route, left: list[Spare]) -> tuple[int, int]:
        """Slot and minute from which the team may leave the base, were the rest of its day as it is."""
        away = min(one.away_min for one in left)
        return max(one.start for one in left), max(*(one.leaves_min for one in left), route.returns_min - away)

    def _return(self, route: Route, left: list[Spare]) -> tuple[int, int]:
        """The same for the way back."""
        away = min(one.away_min for one in left)
        return min(one.end for one in left), min(*(one.returns_min for one in left), route.leaves_min + away)

    def for_stay(self, order: Order, slots: int) -> list[Gap]:
        """Gaps that are long enough for a stay of so many slots on the order's turbine; breaks and people are not looked at."""
        if not self.visits:
            return []
        hop_min = self._hop_min(order.turbine)
        hop = -(-hop_min // self.slot_min)
        to, back = hop_min[self.before], hop_min[self.behind]
        first = np.maximum(self.from_slot + hop[self.before], -(-(self.from_min + to) // self.slot_min))
        last = np.minimum(self.to_slot - hop[self.behind], (self.to_min - back) // self.slot_min) - slots
        return [(int(first[i]), int(last[i]), self.visits[i]) for i in np.flatnonzero(first <= last)]

    def _hop_min(self, turbine: str) -> NDArray[np.int64]:
        if turbine not in self._hops:
            view = self.room.view
            self._hops[turbine] = np.array([view.hop_min(other, turbine) for other in (*self.room.rows, None)], np.int64)
        return self._hops[turbine]
