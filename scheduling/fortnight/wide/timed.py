"""The best times of one route at given rates: starts, cents and minutes away."""

from __future__ import annotations

from itertools import pairwise, permutations
from typing import NamedTuple

import numpy as np

from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.wide.table import Table, Window


class Timed(NamedTuple):
    """Rows of the table in order, cents without any price, minutes away, reduced cents of the route's own times."""

    rows: tuple[int, ...]
    cents: float
    away_min: int
    reduced: float


class Timer:
    """Finds times in one table and shift; `minute`: price of a minute away of the whole team."""

    def __init__(self, facts: Facts, table: Table, window: Window, minute: float) -> None:
        self.facts, self.t, self.window, self.minute = facts, table, window, minute
        self.slot_min, self.rules, self.w = facts.problem.slot_min, facts.problem.rules, facts.problem.weights
        self.slots = table.own.shape[1] - 1

    def best(self, rows: tuple[int, ...]) -> Timed | None:
        """The cheapest order and times; None where there are none."""
        found = [one for some in permutations(rows) if (one := self._in_order(some)) is not None]
        return min(found, key=lambda one: one.reduced, default=None)

    def _in_order(self, rows: tuple[int, ...]) -> Timed | None:
        """The best of all first starts (one row of the tables each) and last ends."""
        own = [self.t.own[k].astype(float) for k in rows]
        ends = self._first_ends(rows[0], own[0])
        any_ = np.full((len(ends), self.slots + 1), np.inf)
        any_[np.arange(len(ends)), ends] = own[0][ends]
        rested = any_ if self.t.rest[rows[0]] else np.full(any_.shape, np.inf)
        for i, (before, k) in enumerate(pairwise(rows), 1):
            any_, rested = self._next(any_, rested, before, k, own[i])
        return self._home(rows, ends, any_, rested)

    def _first_ends(self, first: int, own: Floats) -> Ints:
        ends = np.flatnonzero(np.isfinite(own))
        leave = self.window.leave + int(self.t.base[self.t.place[first]]) + int(self.t.slots[first])
        found: Ints = ends[ends >= leave]
        return found

    def _home(self, rows: tuple[int, ...], ends: Ints, any_: Floats, rested: Floats) -> Timed | None:
        t, first, last = self.t, rows[0], rows[-1]
        leaves = ((ends - int(t.slots[first])) * self.slot_min - int(t.base_min[t.place[first]]))[:, None]
        back = np.arange(self.slots + 1) * self.slot_min + int(t.base_min[t.place[last]])
        away = back[None, :] - leaves
        over = np.maximum(0, back - np.maximum(leaves, self.window.regular * self.slot_min))
        cents = np.where(away > self.rules.break_after_min, rested, any_)
        cents = cents + over * float(self.w.overtime_per_person_min * t.size) + self._travel(rows) + self.w.team_day
        cents[:, max(0, self.window.back - int(t.base[t.place[last]]) + 1) :] = np.inf
        if not np.isfinite(cents).any():
            return None
        at = np.unravel_index(int((cents + self.minute * away).argmin()), cents.shape)
        return Timed(rows, float(cents[at]), int(away[at]), float(cents[at] + self.minute * away[at]))

    def _next(self, any_: Floats, rested: Floats, before: int, k: int, own: Floats) -> tuple[Floats, Floats]:
        t = self.t
        a, b = int(t.place[before]), int(t.place[k])
        hop, pause, slots = int(t.hop[a, b]), int(t.pause[a, b]), int(t.slots[k])
        now = _later(any_, hop + slots) + own
        if t.rest[k]:
            return now, now
        return now, np.minimum(_later(rested, hop + slots), _later(any_, pause + slots)) + own

    def _travel(self, rows: tuple[int, ...]) -> float:
        t, place = self.t, [int(self.t.place[k]) for k in rows]
        minutes = t.base_min[place[0]] + t.base_min[place[-1]] + sum(t.hop_min[a, b] for a, b in pairwise(place))
        return float(minutes * self.w.travel_per_person_min * t.size)


def _later(costs: Floats, slots: int) -> Floats:
    """[starts, ends]: least cents of being done by then, so many slots later."""
    found = np.full(costs.shape, np.inf)
    if slots < costs.shape[1]:
        found[:, slots:] = np.minimum.accumulate(costs[:, : costs.shape[1] - slots], axis=1)
    return found
