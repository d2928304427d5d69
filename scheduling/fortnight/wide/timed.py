"""The best times of one route at given rates: starts, cents and minutes away."""

from __future__ import annotations

from itertools import pairwise, permutations
from typing import NamedTuple

import numpy as np

from scheduling.fortnight.facts import Facts, Floats
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
        """Over all first starts: ends as early and cheap as can be."""
        found: list[Timed] = []
        own = [self.t.own[k].astype(float) for k in rows]
        first = rows[0]
        base, slots = int(self.t.base[self.t.place[first]]), int(self.t.slots[first])
        for end in np.flatnonzero(np.isfinite(own[0])).tolist():
            if end - slots - base >= self.window.leave:
                found += self._from(rows, own, end)
        return min(found, key=lambda one: one.reduced, default=None)

    def _from(self, rows: tuple[int, ...], own: list[Floats], end: int) -> list[Timed]:
        leaves = (end - int(self.t.slots[rows[0]])) * self.slot_min - int(self.t.base_min[self.t.place[rows[0]]])
        any_ = np.full(self.slots + 1, np.inf)
        any_[end] = own[0][end]
        rested = any_ if self.t.rest[rows[0]] else np.full(self.slots + 1, np.inf)
        for i, (before, k) in enumerate(pairwise(rows), 1):
            any_, rested = self._next(any_, rested, before, k, own[i])
        travel = self._travel(rows)
        found = []
        for at in np.flatnonzero(np.isfinite(any_)).tolist():
            away = at * self.slot_min + int(self.t.base_min[self.t.place[rows[-1]]]) - leaves
            cents = rested[at] if away > self.rules.break_after_min else any_[at]
            if np.isfinite(cents) and at + int(self.t.base[self.t.place[rows[-1]]]) <= self.window.back:
                cents = float(cents) + travel + self.w.team_day + self._overtime(leaves, leaves + away)
                found.append(Timed(rows, cents, away, cents + self.minute * away))
        return found

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

    def _overtime(self, leaves: int, returns: int) -> float:
        over = max(0, returns - max(leaves, self.window.regular * self.slot_min))
        return float(over * self.w.overtime_per_person_min * self.t.size)


def _later(costs: Floats, slots: int) -> Floats:
    """Least cents of being done by then, so many slots later."""
    found = np.full(len(costs), np.inf)
    if slots < len(costs):
        found[slots:] = np.minimum.accumulate(costs[: len(costs) - slots])
    return found
