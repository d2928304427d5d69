"""All routes of a day for every kind of team: sets of kinds with their least cost, ready to be priced.

Teams of one size differ in when everybody is on shift and in who is paid overtime from when: a `Class`. Routes of one size are
grouped by signature (how many people, holding what), so that the best route for each set of people is found by comparing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise, permutations

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.columns import Kind
from scheduling.fortnight.facts import Facts, Ints
from scheduling.fortnight.pool.crews import Crews, Signature
from scheduling.fortnight.pool.dominance import Dominance
from scheduling.fortnight.pool.sequences import Costs, DaySequences, Sequences
from scheduling.fortnight.teamsize import merged

NOTHING = -1


@dataclass(frozen=True)
class Class:
    """Slots from which all are on shift and until which, and the regular ends of all (sorted)."""

    leave: int
    back: int
    regular: tuple[int, ...]


@dataclass(eq=False)
class Routes:
    """Routes of one day and team size. `kinds` [n, longest] ends with NOTHING; `cents` [classes, n], inf where impossible.

    Routes are sorted by signature and then by time away: part p begins at `first[p]`, is of signature `of[p]` and takes at
    least `away_min[p]`. Of signature g: who may go (`crews`, masks), the class of each mask, and its people as 0/1.
    """

    size: int
    kinds: Ints
    cents: Costs
    least_min: Ints
    first: Ints
    of: Ints
    away_min: Ints
    crews: list[tuple[int, ...]]
    classes: list[Ints]
    members: list[NDArray[np.float64]]

    def parts(self, g: int) -> slice:
        """The parts of a signature."""
        return slice(int(np.searchsorted(self.of, g)), int(np.searchsorted(self.of, g + 1)))

    def range(self, g: int) -> slice:
        """The routes of a signature."""
        parts = self.parts(g)
        end = self.first[parts.stop] if parts.stop < len(self.first) else len(self.kinds)
        return slice(int(self.first[parts.start]), int(end))


def class_of(facts: Facts, day: int, mask: int) -> Class:
    """The class of a set of people."""
    shifts = [facts.shift[i][day] for i in facts.members_of(mask)]
    regular = tuple(sorted(s.regular_end for s in shifts))
    return Class(max(s.start for s in shifts), min(s.end for s in shifts), regular)


class DayRoutes:
    """Builds the routes of a day, one `Routes` per team size."""

    def __init__(self, facts: Facts, kinds: list[Kind], crews: Crews, dominance: Dominance, day: int, most: int) -> None:
        self.facts, self.kinds, self.crews, self.day, self.most = facts, kinds, crews, day, most
        self.dominance = dominance

    def all(self) -> list[Routes]:
        """Routes of every size that some kind of the day can be done with."""
        today = {(kind.team, kind.needs) for kind in self.kinds if self.day in kind.fields}
        sizes = {mask.bit_count() for one in today for mask in self.crews.of(self.day, one)}
        made = (self._of_size(size) for size in sorted(sizes))
        return [routes for routes in made if routes is not None]

    def _of_size(self, size: int) -> Routes | None:
        classes = self._classes(size)
        tables = [self._of_window(size, leave, classes) for leave in sorted({c.leave for c in classes})]
        keys, cents = _joined(tables, len(classes))
        if not len(keys):
            return None
        return self._grouped(size, keys, cents, classes)

    def _classes(self, size: int) -> dict[Class, int]:
        f = self.facts
        shifts = {(s.start, s.end, s.regular_end): i for i in f.members_of(f.fit[self.day]) for s in [f.shift[i][self.day]]}
        found: set[Class] = set()
        grown: set[tuple[tuple[int, int, int], ...]] = {()}
        for _ in range(size):
            grown = {tuple(sorted((*some, one))) for some in grown for one in shifts}
        for some in grown:
            found.add(Class(max(s[0] for s in some), min(s[1] for s in some), tuple(sorted(s[2] for s in some))))
        return {one: i for i, one in enumerate(sorted(found, key=lambda c: (c.leave, c.back, c.regular)))}

    def _of_window(self, size: int, leave: int, classes: dict[Class, int]) -> tuple[Ints, list[int], Costs]:
        """Routes that leave from this slot on: kinds (sorted), the classes that do, cents [classes, n]."""
        mine = [one for one in classes if one.leave == leave]
        back = max(one.back for one in mine)
        numbers = self.dominance.left(self.day, size)
        found = DaySequences(self.facts, self.kinds, numbers, self.day, size, leave, back, self.most).all()
        parts = [self._finished(size, sequences, mine) for sequences in found if len(sequences)]
        width = self.facts.problem.rules.climbs_a_day
        kinds = [np.pad(np.sort(k, axis=1), ((0, 0), (0, width - k.shape[1])), constant_values=NOTHING) for k, _ in parts]
        if not parts:
            return np.zeros((0, width), np.int64), [], np.zeros((0, 0), np.float32)
        return np.concatenate(kinds), [classes[one] for one in mine], np.concatenate([c for _, c in parts], axis=1)

    def _finished(self, size: int, sequences: Sequences, mine: list[Class]) -> tuple[Ints, Costs]:
        """Way home, overtime and the team's own price added, for each class."""
        f, w = self.facts, self.facts.problem.weights
        last = np.array([self.kinds[k].turbine for k in sequences.kinds[:, -1].tolist()], np.int64)
        base_min = np.array(f.base_min, np.int64)[last]
        least = self._least(sequences.kinds)
        rested = least > f.problem.rules.break_after_min
        table = np.where(rested[:, None], sequences.rested, sequences.any_)
        ends = np.arange(table.shape[1]) * f.problem.slot_min
        travel = self.travel_min(sequences.kinds) * (w.travel_per_person_min * size) + w.team_day
        cents = np.empty((len(mine), len(last)), np.float32)
        home = ends[None, :] + base_min[:, None]
        late = (np.arange(table.shape[1])[None, :] + np.array(f.base_slots, np.int64)[last][:, None]).astype(np.int64)
        for c, one in enumerate(mine):
            # A team may leave after a regular end: then all its time away is overtime, and no more than that.
            over = sum(np.minimum(np.maximum(0, home - end * f.problem.slot_min), least[:, None]) for end in one.regular)
            total = table + over * np.float32(w.overtime_per_person_min)
            cents[c] = np.where(late <= one.back, total, np.inf).min(axis=1) + travel
        return sequences.kinds, cents

    def travel_min(self, kinds: Ints) -> Ints:
        """Least minutes of the hops of a route over these kinds, in whichever order (the last one given)."""
        f = self.facts
        turbine = np.array([kind.turbine for kind in self.kinds], np.int64)[kinds]
        base, hop = np.array(f.base_min, np.int64), np.array(f.hop_min, np.int64).reshape(len(f.base_min), -1)
        length = kinds.shape[1]
        if length <= 2:
            between = sum((hop[turbine[:, i], turbine[:, i + 1]] for i in range(length - 1)), np.zeros(len(kinds), np.int64))
            total: Ints = base[turbine[:, 0]] + base[turbine[:, -1]] + between
            return total
        return _least_way(turbine, base, hop)

    # --- groups -------------------------------------------------------------------------------------------------------

    def _grouped(self, size: int, keys: Ints, cents: Costs, classes: dict[Class, int]) -> Routes | None:
        """Routes sorted by signature, those dropped that no team of this size is for."""
        code, known = self._codes(keys)
        crews = [tuple(m for m in self.crews.of(self.day, one) if m.bit_count() == size) for one in known]
        useful = np.array([bool(masks) for masks in crews], bool)[code]
        rows = np.flatnonzero(useful)
        if not len(rows):
            return None
        least = self._least(keys[rows])
        order = np.lexsort((least, code[rows]))
        rows, least = rows[order], least[order]
        kept, of = np.unique(code[rows], return_inverse=True)
        away = least // self.facts.problem.slot_min
        first = np.flatnonzero(np.concatenate([[True], (of[1:] != of[:-1]) | (away[1:] != away[:-1])]))
        f, people = self.facts, range(len(self.facts.problem.people))
        return Routes(
            size,
            keys[rows],
            cents[:, rows],
            least,
            first,
            of[first],
            least[first],
            [crews[g] for g in kept],
            [np.array([classes[class_of(f, self.day, m)] for m in crews[g]], np.int64) for g in kept],
            [np.array([[float(m >> i & 1) for i in people] for m in crews[g]]) for g in kept],
        )

    def _least(self, keys: Ints) -> Ints:
        """Least minutes away of each set of kinds: stays, shortest ways and hops, a break between stays where one is needed."""
        f, here = self.facts, keys != NOTHING
        slot_min, rules = f.problem.slot_min, f.problem.rules
        fields = [kind.fields.get(self.day) for kind in self.kinds]
        slots = np.array([field.slots if field else 0 for field in fields] + [0], np.int64)[keys].sum(axis=1)
        rests = np.array([bool(field and field.has_break) for field in fields] + [False], bool)[keys].any(axis=1)
        turbine = np.array([kind.turbine for kind in self.kinds] + [0], np.int64)[keys]
        base = np.sort(np.where(here, np.array(f.base_min, np.int64)[turbine], 10**6), axis=1)
        ends = np.where(here.sum(axis=1) == 1, 2 * base[:, 0], base[:, :2].sum(axis=1))
        hop = self._shortest_hop(turbine, here)
        total: Ints = (slots + (here.sum(axis=1) - 1) * -(-hop // slot_min)) * slot_min + ends
        pause = np.maximum(0, -(-(hop + rules.break_min) // slot_min) - -(-hop // slot_min)) * slot_min
        return total + np.where((total > rules.break_after_min) & ~rests & (here.sum(axis=1) > 1), pause, 0)

    def _shortest_hop(self, turbine: Ints, here: NDArray[np.bool_]) -> Ints:
        """Least minutes of a hop between any two places of a set (0 for one place)."""
        hops = np.array(self.facts.hop_min, np.int64).reshape(len(self.facts.hop_min), -1)
        best = np.full(len(turbine), 10**6)
        for a, b in combinations(range(turbine.shape[1]), 2):
            both = here[:, a] & here[:, b]
            best = np.where(both, np.minimum(best, hops[turbine[:, a], turbine[:, b]]), best)
        return np.where(best == 10**6, 0, best)

    def _codes(self, keys: Ints) -> tuple[Ints, list[Signature]]:
        """Number of each route's signature: first the kinds' own, then combined pair by pair."""
        own = {(kind.team, kind.needs) for kind in self.kinds}
        known: dict[Signature, int] = {one: i for i, one in enumerate(sorted(own))}
        of_kind = np.array([known[kind.team, kind.needs] for kind in self.kinds], np.int64)
        code = of_kind[keys[:, 0]]
        for column in range(1, keys.shape[1]):
            more = keys[:, column]
            rows = np.flatnonzero(more != NOTHING)
            pairs = np.stack([code[rows], of_kind[more[rows]]], axis=1)
            distinct, where = np.unique(pairs, axis=0, return_inverse=True)
            names = list(known)
            joined = []
            for a, b in distinct.tolist():
                one = (max(names[a][0], names[b][0]), merged([names[a][1], names[b][1]]))
                joined.append(known.setdefault(one, len(known)))
                if len(known) > len(names):
                    names = list(known)
            code[rows] = np.array(joined, np.int64)[where.ravel()] if joined else code[rows]
        return code, list(known)


def _joined(tables: list[tuple[Ints, list[int], Costs]], classes: int) -> tuple[Ints, Costs]:
    """Routes of all windows: each set of kinds once, with the least cents of each class."""
    keys = np.concatenate([t[0] for t in tables])
    cents = np.full((classes, len(keys)), np.float32(np.inf))
    at = 0
    for kinds, mine, costs in tables:
        cents[mine, at : at + len(kinds)] = costs
        at += len(kinds)
    if not len(keys):
        return keys, cents
    order = np.lexsort(keys.T)
    keys = keys[order]
    first = np.flatnonzero(np.concatenate([[True], (keys[1:] != keys[:-1]).any(axis=1)]))
    return keys[first], np.minimum.reduceat(cents[:, order], first, axis=1)


def _least_way(turbine: Ints, base: Ints, hop: Ints) -> Ints:
    """Least minutes from base over all turbines and back, the last one given: over the orders of those before it."""
    length = turbine.shape[1]
    best = np.full(len(turbine), np.iinfo(np.int64).max)
    for order in permutations(range(length - 1)):
        way = [*order, length - 1]
        total = base[turbine[:, way[0]]] + base[turbine[:, way[-1]]]
        for a, b in pairwise(way):
            total = total + hop[turbine[:, a], turbine[:, b]]
        best = np.minimum(best, total)
    return best
