"""Rescue cover between teams (rules.py, `cover`): who is within reach of whom, minute by minute, for the search.

A set of minutes of a day is an int with bit m for minute m after slot 0. The search prefers starts at which a stay is covered or
covers others (`Reach.cents`); before a board is judged, `keep_cover` shifts stays and takes off what is still bare.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from scheduling.fortnight.facts import Facts, Floats

if TYPE_CHECKING:
    from scheduling.fortnight.board import Stop, Team
    from scheduling.fortnight.columns import Kind

ABLE_TO_RESCUE = 2
SHARE_OF_WORTH = 0.5
"""Share of what the middle order is worth per minute of its work that a bare minute costs while a board is built."""


class Cover:
    """Reach between places of one problem. `asked`: whether the rule is asked for at all."""

    def __init__(self, facts: Facts) -> None:
        self.facts, self.asked = facts, facts.problem.rules.cover_min > 0

    @cached_property
    def near(self) -> list[list[bool]]:
        """[turbine][turbine]: within cover_min of each other."""
        most = self.facts.problem.rules.cover_min
        return [[minutes <= most for minutes in row] for row in self.facts.hop_min]

    @cached_property
    def near_home(self) -> list[list[bool]]:
        """[place][turbine]: within cover_min of the base (place 0) and of each lodging."""
        most = self.facts.problem.rules.cover_min
        return [[minutes <= most for minutes in row] for row in self.facts.home_min]

    @cached_property
    def minute_cents(self) -> float:
        """Cents that a bare minute costs while a board is built."""
        orders = self.facts.problem.orders
        worth = sorted(o.left_out_cost / min(sum(m.visits_min) for m in o.modes) for o in orders)
        return SHARE_OF_WORTH * worth[len(worth) // 2]

    def by_base(self, day: int, turbine: int) -> bool:
        """Whether rescuers standing by at the base cover the turbine."""
        return day in self.facts.problem.standby_days and self.near_home[0][turbine]

    def able(self, day: int, mask: int) -> bool:
        """Whether these people can rescue others."""
        return (mask & self.facts.rescue[day]).bit_count() >= ABLE_TO_RESCUE

    def minutes(self, stop: Stop) -> int:
        """The stay's minutes."""
        slot = self.facts.problem.slot_min
        return _bits(stop.start * slot, stop.end * slot)

    def reach(self, team: Team, turbine: int) -> int:
        """Minutes in which the team is within reach of a turbine."""
        near, slot, stops, found = self.near, self.facts.problem.slot_min, team.stops, 0
        for stop in stops:
            found |= self.minutes(stop) if near[stop.kind.turbine][turbine] else 0
        for a, b in pairwise(stops):
            if near[a.kind.turbine][turbine] and near[b.kind.turbine][turbine]:
                found |= _bits(a.end * slot, b.start * slot)
        if near[stops[0].kind.turbine][turbine] and self.near_home[team.ends[0]][turbine]:
            found |= _bits(team.leaves_min, stops[0].start * slot)
        if near[stops[-1].kind.turbine][turbine] and self.near_home[team.ends[1]][turbine]:
            found |= _bits(stops[-1].end * slot, team.returns_min)
        return found

    def bare(self, day: int, stop: Stop, others: list[Team]) -> int:
        """Minutes of a stay that none of the others covers."""
        turbine = stop.kind.turbine
        if self.by_base(day, turbine):
            return 0
        left = self.minutes(stop)
        for team in others:
            if left and self.able(day, team.mask):
                left &= ~self.reach(team, turbine)
        return left

    def bare_min(self, day: int, teams: list[Team]) -> int:
        """Bare minutes of all stays of a day."""
        return sum(self.bare(day, stop, [t for t in teams if t is not team]).bit_count() for team in teams for stop in team.stops)


class Reach:
    """What the other teams of a day need and give, for one team that is to be placed among them."""

    def __init__(self, cover: Cover, day: int, others: list[Team], weight: float = 1.0) -> None:
        self.cover, self.day, self.others, self.weight = cover, day, others, weight
        self._known: dict[tuple[int, int, bool], Floats] = {}

    @cached_property
    def bare(self) -> list[tuple[int, int]]:
        """(turbine, bare minutes) of the others' stays."""
        found = ((s.kind.turbine, self._bare_of(team, s)) for team in self.others for s in team.stops)
        return [(turbine, minutes) for turbine, minutes in found if minutes]

    def _bare_of(self, team: Team, stop: Stop) -> int:
        return self.cover.bare(self.day, stop, [t for t in self.others if t is not team])

    def cents(self, kind: Kind, mask: int) -> Floats:
        """[slots + 1]: cents for the minutes in which a stay that starts there is bare, less those in which it covers others."""
        key = (kind.turbine, kind.fields[self.day].slots, self.cover.able(self.day, mask))
        if key not in self._known:
            self._known[key] = self._anew(*key)
        return self._known[key]

    def _anew(self, turbine: int, slots: int, able: bool) -> Floats:
        f = self.cover.facts
        per_minute = np.zeros(f.slots[self.day] * f.problem.slot_min)
        if not self.cover.by_base(self.day, turbine):
            covered = 0
            for team in self.others:
                covered |= self.cover.reach(team, turbine) if self.cover.able(self.day, team.mask) else 0
            per_minute += 1.0 - _row(covered, len(per_minute))
        for other, minutes in self.bare if able else ():
            if self.cover.near[turbine][other]:
                per_minute -= _row(minutes, len(per_minute))
        sums = np.concatenate(([0.0], np.cumsum(per_minute)))[:: f.problem.slot_min]
        found = np.zeros(len(sums))
        found[: len(sums) - slots] = sums[slots:] - sums[: len(sums) - slots]
        return found * (self.weight * self.cover.minute_cents)


def _bits(begin: int, end: int) -> int:
    begin, end = max(0, begin), max(0, end)
    return (1 << end) - (1 << begin) if end > begin else 0


def _row(minutes: int, count: int) -> Floats:
    """[count]: 1 in the minutes set."""
    packed = np.frombuffer((minutes & ((1 << count) - 1)).to_bytes(-(-count // 8), "little"), np.uint8)
    return np.unpackbits(packed, bitorder="little")[:count].astype(float)
