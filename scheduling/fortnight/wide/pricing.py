"""The best routes of a day at given prices, found by looking only where a route can still pay.

`_onward` tells for each place and slot the least that going on from there can cost (orders may be done twice there, breaks
are left out: never more than the truth). Sequences grow visit by visit from the base; those whose cost so far and way onward
do not stay under the limit are dropped. What is dropped because there are too many is remembered as `floor`, so that the
least reduced cost told is never above the true one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.wide.table import FAR, Bools, Costs, Table, Window


@dataclass(frozen=True)
class Rates:
    """Prices of a day for teams of one size: `prize` by kind (number), cents per team, cents per minute the team is away."""

    prize: Floats
    team: float
    minute: float


@dataclass(frozen=True)
class Limits:
    """Routes under `cents` of reduced cost are wanted; at most so many sequences of each length are followed."""

    cents: float
    most: int


@dataclass(eq=False)
class Grown:
    """Sequences: rows of the table's kinds [n, length]; least cents by end slot without and with a break asked."""

    rows: Ints
    any_: Costs
    rested: Costs


@dataclass(eq=False)
class Priced:
    """Routes found: rows of kinds (with -1 for none) and reduced cents; nothing else is below `floor`."""

    rows: Ints
    cents: Floats
    floor: float


class Pricing:
    """One table in one shift at given rates."""

    def __init__(self, facts: Facts, table: Table, window: Window, rates: Rates) -> None:
        self.facts, self.window, self.rates = facts, window, rates
        self.slot_min, self.rules = facts.problem.slot_min, facts.problem.rules
        self.slots = table.own.shape[1] - 1
        self.climbs = max(1, self.rules.climbs_a_day)
        self.t = table
        self.travel = np.float32(facts.problem.weights.travel_per_person_min * table.size)
        self.cost = table.own - rates.prize[table.kinds].astype(np.float32)[:, None]
        self.home = self._home()
        self.floor = np.inf

    def _home(self) -> Costs:
        """[places, slots + 1]: cents of going home from there, overtime and minutes included."""
        w, t = self.facts.problem.weights, self.t
        back = np.arange(self.slots + 1) * self.slot_min + t.base_min[:, None]
        over = np.maximum(0, back - self.window.regular * self.slot_min) * (w.overtime_per_person_min * t.size)
        cents = t.base_min[:, None] * float(self.travel) + over + self.rates.minute * back
        late = np.arange(self.slots + 1)[None, :] + t.base[:, None] > self.window.back
        found: Costs = np.where(late, np.inf, cents).astype(np.float32)
        return found

    def _out(self) -> Costs:
        """[kinds, slots + 1]: cents of coming from base to a visit that ends there."""
        w, t = self.facts.problem.weights, self.t
        starts = np.arange(self.slots + 1)[None, :] - t.slots[:, None]
        leaves = starts * self.slot_min - t.base_min[t.place][:, None]
        spared = np.maximum(0, leaves - self.window.regular * self.slot_min) * (w.overtime_per_person_min * t.size)
        cents = t.base_min[t.place][:, None] * float(self.travel) - spared - self.rates.minute * leaves
        early = starts - t.base[t.place][:, None] < self.window.leave
        found: Costs = np.where(early, np.inf, cents + w.team_day + self.rates.team).astype(np.float32)
        return found

    # --- the way onward -----------------------------------------------------------------------------------------------

    def _onward(self) -> list[Costs]:
        """By how many visits may follow: [places, slots + 1] least cents from there home."""
        found = [self.home]
        for _ in range(self.climbs - 1):
            found.append(np.minimum(self.home, self._one_more(found[-1])))
        return found

    def _one_more(self, onward: Costs) -> Costs:
        t, places = self.t, len(self.t.base)
        begin = np.full((places, self.slots + 1), FAR)  # by start of the next visit
        total = self.cost + onward[t.place]
        order = np.lexsort((t.slots, t.place))
        key = t.place[order] * 1000 + t.slots[order]
        first = np.flatnonzero(np.diff(np.append(-1, key)) != 0)
        least = np.minimum.reduceat(total[order], first, axis=0)
        for row, k in zip(least, order[first].tolist(), strict=True):
            slots = int(t.slots[k])
            here = begin[t.place[k]]
            np.minimum(here[: self.slots + 1 - slots], row[slots:], out=here[: self.slots + 1 - slots])
        later = np.minimum.accumulate(begin[:, ::-1], axis=1)[:, ::-1]
        padded = np.concatenate([later, np.full((places, int(t.hop.max(initial=0)) + 1), FAR)], axis=1)
        travel = t.hop_min * self.travel
        found = np.full((places, self.slots + 1), FAR)
        for slots in np.unique(t.hop).tolist():
            here = np.where(t.hop == slots, travel, FAR)
            shifted = padded[:, slots : slots + self.slots + 1]
            for b in np.flatnonzero(np.isfinite(later).any(axis=1)).tolist():
                np.minimum(found, here[:, b : b + 1] + shifted[b], out=found)
        return found

    # --- sequences ----------------------------------------------------------------------------------------------------

    def find(self, limits: Limits) -> Priced:
        """The routes under the limit."""
        onward = self._onward()
        grown = self._first(onward[-1], limits)
        parts = [self._finished(grown, limits)]
        useful = self._useful(onward, limits)
        for left in range(self.climbs - 2, -1, -1):
            if not len(grown.rows) or not len(useful):
                break
            grown = self._longer(grown, useful, onward[left], limits)
            parts.append(self._finished(grown, limits))
        rows = [np.pad(r, ((0, 0), (0, self.climbs - r.shape[1])), constant_values=-1) for r, _ in parts]
        return Priced(np.concatenate(rows), np.concatenate([c for _, c in parts]), float(self.floor))

    def _first(self, onward: Costs, limits: Limits) -> Grown:
        t = self.t
        alone = np.minimum.accumulate(self._out() + self.cost, axis=1)
        rested = np.where(t.rest[:, None], alone, FAR)
        kept = self._keep((alone + onward[t.place]).min(axis=1), limits)
        return Grown(kept[:, None], alone[kept], rested[kept])

    def _useful(self, onward: list[Costs], limits: Limits) -> Ints:
        """Kinds that may come after another under the limit: cheapest way in, the visit, cheapest way on."""
        t = self.t
        if self.climbs < 2:
            return np.zeros(0, np.int64)
        # The way in is the way onward's mirror; the least of it over places is enough here.
        ready = np.minimum.accumulate((self._out() + self.cost).min(axis=0))
        for _ in range(self.climbs - 2):
            ends = np.full(self.slots + 1, FAR)
            for slots in np.unique(t.slots).tolist():
                here = self.cost[t.slots == slots].min(axis=0)[slots:] + ready[: self.slots + 1 - slots]
                np.minimum(ends[slots:], here, out=ends[slots:])
            ready = np.minimum(ready, np.minimum.accumulate(ends))
        at = np.arange(self.slots + 1)[None, :] - t.slots[:, None]
        before = np.where(at >= 0, ready[np.maximum(at, 0)], FAR)
        found: Ints = np.flatnonzero((before + self.cost + onward[-2][t.place]).min(axis=1) < limits.cents)
        return found

    def _keep(self, least: Costs, limits: Limits) -> Ints:
        """Rows under the limit, the best `most` of them; the best of the others is the floor."""
        rows = np.flatnonzero(least < limits.cents)
        if len(rows) > limits.most:
            order = np.argpartition(least[rows], limits.most)
            self.floor = min(self.floor, float(least[rows[order[limits.most]]]))
            rows = np.sort(rows[order[: limits.most]])
        found: Ints = rows
        return found

    def _longer(self, before: Grown, useful: Ints, onward: Costs, limits: Limits) -> Grown:
        """Each sequence with each useful kind after it that stays under the limit."""
        parts = [self._with(before, k, onward, limits) for k in useful.tolist()]
        rows = np.concatenate([p.rows for p, _ in parts])
        least = np.concatenate([c for _, c in parts])
        any_, rested = (np.concatenate(some) for some in zip(*((p.any_, p.rested) for p, _ in parts), strict=True))
        rows, any_, rested, least = _each_once(rows, any_, rested, least)
        kept = self._keep(least, limits)
        return Grown(rows[kept], any_[kept], rested[kept])

    def _with(self, before: Grown, k: int, onward: Costs, limits: Limits) -> tuple[Grown, Costs]:
        t = self.t
        open_ = ~t.clash[k][before.rows].any(axis=1)
        if t.ladder[k]:
            open_ &= t.ladder[before.rows].sum(axis=1) < self.rules.ladder_climbs_a_day
        rows = np.flatnonzero(open_)
        last = t.place[before.rows[rows, -1]]
        here = t.place[k]
        travel = (t.hop_min[last, here] * self.travel).astype(np.float32)[:, None]
        ends = np.arange(int(t.slots[k]), self.slots + 1)
        ends = ends[np.isfinite(self.cost[k, ends])]
        any_ = _reach(before.any_, rows, ends - int(t.slots[k]), t.hop[last, here]) + self.cost[k, ends] + travel
        least = (any_ + onward[here, ends]).min(axis=1, initial=FAR)
        good = np.flatnonzero(least < limits.cents)
        rows, any_, last, travel = rows[good], any_[good], last[good], travel[good]
        if t.rest[k]:
            rested = any_
        else:
            starts = ends - int(t.slots[k])
            had = _reach(before.rested, rows, starts, t.hop[last, here])
            now = _reach(before.any_, rows, starts, t.pause[last, here])
            rested = np.minimum(had, now) + self.cost[k, ends] + travel
        joined = np.concatenate([before.rows[rows], np.full((len(rows), 1), k)], axis=1)
        return Grown(joined, self._by_end(any_, ends), self._by_end(rested, ends)), least[good]

    def _by_end(self, costs: Costs, ends: Ints) -> Costs:
        table = np.full((len(costs), self.slots + 1), FAR)
        table[:, ends] = costs
        return np.minimum.accumulate(table, axis=1)

    def _finished(self, grown: Grown, limits: Limits) -> tuple[Ints, Floats]:
        """Sequences whose way home stays under the limit, a break in it where the route cannot be short enough without."""
        rows = grown.rows
        long = self._least_min(rows) > self.rules.break_after_min
        ends = np.where(long[:, None], grown.rested, grown.any_)
        cents = (ends + self.home[self.t.place[rows[:, -1]]]).min(axis=1, initial=FAR)
        good: Bools = cents < limits.cents
        return rows[good], cents[good].astype(float)

    def _least_min(self, rows: Ints) -> Ints:
        """Minutes away of a sequence at least, whatever the order of its visits."""
        t, place = self.t, self.t.place[rows]
        length = rows.shape[1]
        base = np.sort(t.base_min[place], axis=1)
        hop = np.full(len(rows), 0 if length == 1 else 10**6)
        for a, b in combinations(range(length), 2):
            hop = np.minimum(hop, t.hop[place[:, a], place[:, b]])
        ways = 2 * base[:, 0] if length == 1 else base[:, :2].sum(axis=1)
        total: Ints = (t.slots[rows].sum(axis=1) + (length - 1) * hop) * self.slot_min + ways
        return total


def _reach(costs: Costs, rows: Ints, starts: Ints, hop: Ints) -> Costs:
    """[rows, starts]: least cost of being there by each start."""
    at = starts[None, :] - hop[:, None]
    found: Costs = np.where(at >= 0, costs[rows[:, None], np.maximum(at, 0)], FAR)
    return found


def _each_once(rows: Ints, any_: Costs, rested: Costs, least: Costs) -> tuple[Ints, Costs, Costs, Costs]:
    """Of sequences of the same kinds with the same last one, the least cents by end (what may follow is the same)."""
    if rows.shape[1] < 3 or not len(rows):
        return rows, any_, rested, least
    key = np.concatenate([np.sort(rows[:, :-1], axis=1), rows[:, -1:]], axis=1)
    order = np.lexsort(key.T)
    key = key[order]
    first = np.flatnonzero(np.concatenate([[True], (key[1:] != key[:-1]).any(axis=1)]))
    merged = (np.minimum.reduceat(x[order], first) for x in (any_, rested, least))
    return (rows[order][first], *merged)  # type: ignore[return-value]
