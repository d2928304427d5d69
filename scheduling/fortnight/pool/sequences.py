"""Sequences of kinds that one team can do on a day, with their least cost by the slot in which they end.

Of three kinds and more only the last one's place is told: the order of those before it is whichever costs least.

`cost[i, e]` is the least of the visits' own cents (likely aborts counted for a team of `size`) with the last visit ended by
slot e; it falls with e. Hops take whole slots. A sequence that lasts longer than people may work without a break has one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.columns import Kind
from scheduling.fortnight.facts import Facts, Floats, Ints

Costs = NDArray[np.float32]
FAR = np.float32(np.inf)


class TooMany(Exception):
    """More sequences than may be counted out."""


@dataclass(frozen=True)
class Sequences:
    """`kinds` [n, length] (numbers of kinds), `any_`/`rested` [n, slots + 1] by end slot, with no break asked / with one."""

    kinds: Ints
    any_: Costs
    rested: Costs

    def __len__(self) -> int:
        return len(self.kinds)


class DaySequences:
    """All sequences of a day for teams of `size` people who are on shift from slot `leave` until slot `back`."""

    def __init__(
        self, facts: Facts, kinds: list[Kind], numbers: list[int], day: int, size: int, leave: int, back: int, most: int
    ) -> None:
        self.facts, self.day, self.size, self.leave, self.back, self.most = facts, day, size, leave, back, most
        self.slots = facts.slots[day]
        self.numbers, self.kinds = numbers, kinds
        self.turbine = np.array([kind.turbine for kind in kinds], np.int64)
        self.base = np.array(facts.base_slots, np.int64)
        self.hop = np.array(facts.hop_slots, np.int64).reshape(len(self.base), len(self.base))
        rules, slot_min = facts.problem.rules, facts.problem.slot_min
        minutes = np.array(facts.hop_min, np.int64).reshape(self.hop.shape)
        self.pause = np.maximum(self.hop, -(-(minutes + rules.break_min) // slot_min))
        self.clash = self._clashes()
        abort = facts.abort_cents[day]
        self.own = {k: self._own(kinds[k], abort) for k in self.numbers}

    def _clashes(self) -> NDArray[np.bool_]:
        """[kind, kind]: both hold visits of one order."""
        of = np.zeros((len(self.kinds), len(self.facts.problem.orders)), np.float32)
        for k, kind in enumerate(self.kinds):
            of[k, [o for o, _, _ in kind.jobs]] = 1.0
        found: NDArray[np.bool_] = of @ of.T > 0
        return found

    def _own(self, kind: Kind, abort: float) -> Costs:
        field = kind.fields[self.day]
        cents: Floats = field.cents + (1.0 - field.chance) * (abort * (self.size - kind.team))
        return cents.astype(np.float32)

    def all(self) -> list[Sequences]:
        """Sequences by length, from 1 up."""
        longest = self.facts.problem.rules.climbs_a_day
        if not longest:
            return []
        found = [self._ones()]
        count = len(found[0])
        while len(found) < longest and len(found[-1]):
            longer = self._longer(found[-1], self.most - count)
            if not len(longer):
                break
            found.append(longer)
            count += len(longer)
        return found

    def _ones(self) -> Sequences:
        rows = [self._from_base(k) for k in self.numbers]
        good = [i for i, row in enumerate(rows) if np.isfinite(row[-1])]
        any_ = np.stack([rows[i] for i in good]) if good else np.zeros((0, self.slots + 1), np.float32)
        rests = np.array([self.kinds[self.numbers[i]].fields[self.day].has_break for i in good], bool)
        rested = np.where(rests[:, None], any_, FAR)
        return Sequences(np.array([[self.numbers[i]] for i in good], np.int64).reshape(-1, 1), any_, rested)

    def _from_base(self, k: int) -> Costs:
        field = self.kinds[k].fields[self.day]
        row = np.full(self.slots + 1, FAR)
        base = self.base[self.turbine[k]]
        ok = (field.starts - base >= self.leave) & (field.starts + field.slots + base <= self.back)
        row[field.starts[ok] + field.slots] = self.own[k][ok]
        return np.minimum.accumulate(row)

    def _longer(self, before: Sequences, room: int) -> Sequences:
        """Each sequence with each kind that may follow it."""
        last = self.turbine[before.kinds[:, -1]]
        ready = np.isfinite(before.any_).argmax(axis=1)
        parts, count = list[Sequences](), 0
        for k in self.numbers:
            part = self._with(before, last, ready, k)
            count += len(part)
            if count > room:
                raise TooMany
            if len(part):
                parts.append(part)
        if not parts:
            return Sequences(np.zeros((0, before.kinds.shape[1] + 1), np.int64), before.any_[:0], before.rested[:0])
        return _merged(
            np.concatenate([p.kinds for p in parts]),
            np.concatenate([p.any_ for p in parts]),
            np.concatenate([p.rested for p in parts]),
        )

    def _with(self, before: Sequences, last: Ints, ready: Ints, k: int) -> Sequences:
        kind, turbine = self.kinds[k], int(self.turbine[k])
        field = kind.fields[self.day]
        ok = field.starts + field.slots + self.base[turbine] <= self.back
        starts, own = field.starts[ok], self.own[k][ok]
        rows = np.flatnonzero(ready + self.hop[:, turbine][last] <= starts.max(initial=-1))
        for column in range(before.kinds.shape[1]):
            rows = rows[~self.clash[k][before.kinds[rows, column]]]
        here = last[rows]
        any_ = self._reach(before.any_, rows, starts, self.hop[here, turbine]) + own
        if field.has_break:
            rested = any_
        else:
            rested = (
                np.minimum(
                    self._reach(before.rested, rows, starts, self.hop[here, turbine]),
                    self._reach(before.any_, rows, starts, self.pause[here, turbine]),
                )
                + own
            )
        ends = starts + field.slots
        kinds = np.concatenate([before.kinds[rows], np.full((len(rows), 1), k)], axis=1)
        return Sequences(kinds, self._by_end(any_, ends), self._by_end(rested, ends))

    def _reach(self, costs: Costs, rows: Ints, starts: Ints, hop: Ints) -> Costs:
        """[rows, starts]: least cost of being there by each start."""
        at = starts[None, :] - hop[:, None]
        found: Costs = np.where(at >= 0, costs[rows[:, None], np.maximum(at, 0)], FAR)
        return found

    def _by_end(self, costs: Costs, ends: Ints) -> Costs:
        table = np.full((len(costs), self.slots + 1), FAR)
        table[:, ends] = costs
        return np.minimum.accumulate(table, axis=1)


def _merged(kinds: Ints, any_: Costs, rested: Costs) -> Sequences:
    """Of sequences of the same kinds with the same last one, the least cost by end (what may follow is the same)."""
    if kinds.shape[1] < 3:
        return Sequences(kinds, any_, rested)
    key = np.concatenate([np.sort(kinds[:, :-1], axis=1), kinds[:, -1:]], axis=1)
    order = np.lexsort(key.T)
    key = key[order]
    first = np.flatnonzero(np.concatenate([[True], (key[1:] != key[:-1]).any(axis=1)]))
    return Sequences(key[first], np.minimum.reduceat(any_[order], first), np.minimum.reduceat(rested[order], first))
