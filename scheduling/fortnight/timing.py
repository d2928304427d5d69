"""Times of a team's stops: the cheapest starts for a sequence of kinds, and what one more kind in between would cost.

A table holds, for a team on a day, the least cost of its first stops by the slot in which they end (`before`) and of its
last stops by the slot from which they may begin (`after`), each with and without a break inside. Putting a kind between
them is then a few sums over slots, with all other stops free to move.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from scheduling.fortnight.board import BASE, Board, Ends, Stop
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.facts import Floats
from scheduling.fortnight.use import DayUse, blocked

INF = np.inf
PAD = 300
"""More slots than a day has: with slots of 5 minutes and more."""


@dataclass(eq=False)
class Table:
    """Costs by slot for a mask of people and kinds in order, between two places; `own` is the cost of each start of each kind."""

    day: int
    mask: int
    kinds: tuple[Kind, ...]
    use: DayUse
    own: list[Floats]
    ends: Ends = BASE
    before: list[tuple[Floats, Floats]] = field(default_factory=list)
    after: list[tuple[Floats, Floats]] = field(default_factory=list)


class Timing:
    """Builds tables on a board and reads them."""

    def __init__(self, board: Board) -> None:
        self.board, self.facts = board, board.facts
        p = self.facts.problem
        self._abort, self._linked = self.facts.abort_cents, self.board.waits.linked
        self._homes: dict[tuple[int, int, int, int], Floats] = {}
        self._plain: dict[tuple[int, tuple[tuple[int, int, int], ...], int, int], Floats] = {}
        minutes = np.array(self.facts.hop_min).reshape(len(p.turbines), len(p.turbines))
        hops = np.array(self.facts.hop_slots).reshape(minutes.shape)
        self.pause: list[list[int]] = np.maximum(hops, -(-(minutes + p.rules.break_min) // p.slot_min)).tolist()

    # --- one kind -------------------------------------------------------------------------------------------------

    def starts(self, day: int, kind: Kind, mask: int, use: DayUse) -> Floats:
        """[slots + 1]: cents of starting there with these people, INF where it may not start or something is in the way."""
        people, f = mask.bit_count(), kind.fields[day]
        key = (day, kind.jobs, people, mask if f.told else 0)
        if key not in self._plain:
            plain = np.full(self.facts.slots[day] + 1, INF)
            plain[f.starts] = f.cents + (1.0 - f.chance) * (self._abort[day] * max(0, people - kind.team))
            for start in {start for start, _, _ in f.told}:
                plain[start] += f.missing_cents(start, mask)
            self._plain[key] = plain
        shut = blocked(self.facts, use, kind)
        linked = not self._linked.isdisjoint(o for o, _, _ in kind.jobs) if self._linked else False
        if linked:
            shut |= self._waiting(kind, day)
        plain = self._plain[key] if use.reach is None else self._plain[key] + use.reach.cents(kind, mask)
        if not shut:
            return plain
        cost, stay = plain.copy(), (1 << kind.fields[day].slots) - 1
        for slot in kind.fields[day].starts.tolist():
            if shut >> slot & stay:
                cost[slot] = INF
        return cost

    def _waiting(self, kind: Kind, day: int) -> int:
        """Slots (a bit each) in which orders that wait for others, or are waited for, may not be worked on."""
        first, last = self.board.waits.open(kind.jobs, day)
        slots = self.facts.slots[day]
        open_ = ((1 << max(0, last)) - 1) & ~((1 << min(first, slots)) - 1)
        return ((1 << slots) - 1) & ~open_

    def _leaving(self, day: int, mask: int) -> Floats:
        """Zero from the slot in which everybody is on shift."""
        free = np.full(self.facts.slots[day] + 1, INF)
        free[self.board.envelope(day, mask)[0] :] = 0.0
        return free

    def _home(self, day: int, mask: int, turbine: int, place: int) -> Floats:
        """[slots + 1 + PAD]: overtime when the last stop ends there, INF after the shift."""
        key = (day, mask, turbine, place)
        if key not in self._homes:
            self._homes[key] = _pad_end(self._home_anew(day, mask, turbine, place))
        return self._homes[key]

    def _home_anew(self, day: int, mask: int, turbine: int, place: int) -> Floats:
        f, p = self.facts, self.facts.problem
        _, end, regular = self.board.envelope(day, mask)
        home = np.zeros(f.slots[day] + 1)
        home[max(0, end - f.home_slots[place][turbine] + 1) :] = INF
        back = np.arange(len(home)) * p.slot_min + f.home_min[place][turbine]
        if p.weights.overtime_per_person_min and back[-1] > regular * p.slot_min:
            for person in f.members_of(mask):
                over = np.maximum(0, back - f.shift[person][day].regular_end * p.slot_min)
                home = home + over * float(p.weights.overtime_per_person_min)
        return home

    # --- tables -----------------------------------------------------------------------------------------------------

    def table(self, day: int, mask: int, kinds: tuple[Kind, ...], use: DayUse, ends: Ends = BASE) -> Table:
        """The table of a sequence of kinds; `use` is what everybody else holds that day."""
        t = Table(day, mask, kinds, use, [self.starts(day, k, mask, use) for k in kinds], ends)
        free = _pad_front(self._leaving(day, mask))
        t.before.append((free, np.full(len(free), INF)))
        for i in range(len(kinds)):
            t.before.append(self._forward(t, i))
        t.after = [(free, free)] * (len(kinds) + 1)
        for i in range(len(kinds) - 1, -1, -1):
            t.after[i] = self._backward(t, i)
        return t

    def _hops(self, before: Kind | None, after: Kind, place: int) -> tuple[int, int]:
        """Slots from one stop to the next, plain and with a break; from the first place there is no break."""
        if before is None:
            return self.facts.home_slots[place][after.turbine], PAD
        return self.facts.hop_slots[before.turbine][after.turbine], self.pause[before.turbine][after.turbine]

    def _forward(self, t: Table, i: int) -> tuple[Floats, Floats]:
        """(any, rested) after stop i, least over all ends up to each slot."""
        kind, own = t.kinds[i], t.own[i]
        hop, pause = self._hops(t.kinds[i - 1] if i else None, kind, t.ends[0])
        before, rested_before = t.before[i]
        any_ = _later(before, hop) + own
        rested = any_
        if not kind.fields[t.day].has_break:
            rested = np.minimum(_later(rested_before, hop), _later(before, pause)) + own
        slots = kind.fields[t.day].slots
        ends = (np.minimum.accumulate(_later(_pad_front(cost), slots)) for cost in (any_, rested))
        return _pad_front(next(ends)), _pad_front(next(ends))

    def _backward(self, t: Table, i: int) -> tuple[Floats, Floats]:
        """(any, rested) of stops i and on, least over all starts from each slot."""
        any_ = self._tail(t, i + 1, t.kinds[i], t.own[i])
        rested = self._rested_tail(t, i + 1, t.kinds[i], t.own[i])
        return _pad_end(np.minimum.accumulate(any_[::-1])[::-1]), _pad_end(np.minimum.accumulate(rested[::-1])[::-1])

    def _tail(self, t: Table, j: int, kind: Kind, own: Floats) -> Floats:
        """By start of `kind`: least cents of it followed by stops j and on."""
        slots = kind.fields[t.day].slots
        if j == len(t.kinds):
            return own + _sooner(self._home(t.day, t.mask, kind.turbine, t.ends[1]), slots)
        hop = self.facts.hop_slots[kind.turbine][t.kinds[j].turbine]
        return own + _sooner(t.after[j][0], slots + hop)

    def _rested_tail(self, t: Table, j: int, kind: Kind, own: Floats) -> Floats:
        """The same with a break from then on."""
        if kind.fields[t.day].has_break:
            return self._tail(t, j, kind, own)
        if j == len(t.kinds):
            return np.full(len(own), INF)
        slots, (hop, pause) = kind.fields[t.day].slots, self._hops(kind, t.kinds[j], 0)
        return own + np.minimum(_sooner(t.after[j][1], slots + hop), _sooner(t.after[j][0], slots + pause))

    def between(self, t: Table, i: int, j: int, kind: Kind, own: Floats, rested: bool) -> float:
        """Least cents of stops 0..i-1, then `kind`, then stops j and on; with a break somewhere if asked."""
        hop, pause = self._hops(t.kinds[i - 1] if i else None, kind, t.ends[0])
        before, rested_before = t.before[i]
        tail, arrive = self._tail(t, j, kind, own), _later(before, hop)
        if not rested or kind.fields[t.day].has_break:
            return float((arrive + tail).min())
        here = np.minimum(_later(rested_before, hop), _later(before, pause)) + tail
        if j < len(t.kinds):
            here = np.minimum(here, arrive + self._rested_tail(t, j, kind, own))
        return float(here.min())

    # --- times --------------------------------------------------------------------------------------------------------

    def times(
        self, day: int, mask: int, kinds: tuple[Kind, ...], use: DayUse, rested: bool, ends: Ends = BASE
    ) -> tuple[Stop, ...] | None:
        """The cheapest starts of a sequence, with a break in it if asked; None if there are none."""
        t = self.table(day, mask, kinds, use, ends)
        stops: list[Stop] = []
        ready = self.board.envelope(day, mask)[0]
        for i, kind in enumerate(kinds):
            hop, pause = self._hops(kinds[i - 1] if i else None, kind, ends[0])
            any_ = self._tail(t, i + 1, kind, t.own[i])
            row = any_
            if rested:
                row = self._rested_tail(t, i + 1, kind, t.own[i]).copy()
                row[max(0, ready + pause) :] = any_[max(0, ready + pause) :]
            row = row.copy()
            row[: ready + hop] = INF
            start = int(row.argmin())
            if row[start] == INF:
                return None
            rested = rested and not (start >= ready + pause or kind.fields[day].has_break)
            stops.append(_stop(kind, day, start))
            ready = start + kind.fields[day].slots
        return tuple(stops)


def _stop(kind: Kind, day: int, start: int) -> Stop:
    f = kind.fields[day]
    at = int(np.searchsorted(f.starts, start))
    return Stop(kind, f, start, start + f.slots, float(f.cents[at]), float(f.chance[at]))


def _pad_front(cost: Floats) -> Floats:
    """PAD times INF before the slots, so that a shift to later is a mere view."""
    padded = np.full(PAD + len(cost), INF)
    padded[PAD:] = cost
    return padded


def _pad_end(cost: Floats) -> Floats:
    """The same after the slots."""
    padded = np.full(PAD + len(cost), INF)
    padded[: len(cost)] = cost
    return padded


def _later(padded: Floats, slots: int) -> Floats:
    """Of a front-padded row: the value at s - slots for each s."""
    shift = min(slots, PAD)
    return padded[PAD - shift : len(padded) - shift]


def _sooner(padded: Floats, slots: int) -> Floats:
    """Of an end-padded row: the value at s + slots for each s."""
    shift = min(slots, PAD)
    return padded[shift : len(padded) - PAD + shift]
