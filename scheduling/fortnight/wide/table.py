"""The visits of one day as tables of cents by end slot, for teams of one size: what the day's prices are laid on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.columns import Kind
from scheduling.fortnight.facts import Facts, Ints
from scheduling.fortnight.pool.dominance import Dominance
from scheduling.fortnight.teamsize import TeamSizes

Costs = NDArray[np.float32]
Bools = NDArray[np.bool_]
FAR = np.float32(np.inf)


@dataclass(frozen=True)
class Window:
    """A shift of the day: away in slots [leave, back), overtime after `regular`."""

    leave: int
    back: int
    regular: int


@dataclass(eq=False)
class Table:
    """Kinds that a team of `size` may do on a day. All arrays have one row a kind; columns are end slots 0 .. slots.

    `own` is FAR where the kind may not end. `place` numbers the turbines of the day (`hop` slots, `pause` slots with a break
    in between, `hop_min` minutes); `clash` tells which kinds hold visits of one order.
    """

    day: int
    size: int
    kinds: Ints
    own: Costs
    slots: Ints
    rest: Bools
    ladder: Bools
    place: Ints
    hop: Ints
    pause: Ints
    hop_min: Ints
    base: Ints
    base_min: Ints
    clash: Bools

    def some(self, rows: Ints) -> Table:
        """The table of a few of its kinds."""
        return Table(
            self.day,
            self.size,
            self.kinds[rows],
            self.own[rows],
            self.slots[rows],
            self.rest[rows],
            self.ladder[rows],
            self.place[rows],
            self.hop,
            self.pause,
            self.hop_min,
            self.base,
            self.base_min,
            self.clash[np.ix_(rows, rows)],
        )


class Tables:
    """Makes the tables of a problem."""

    def __init__(self, facts: Facts, kinds: list[Kind]) -> None:
        self.facts, self.kinds = facts, kinds
        self.dominance, self.sizes = Dominance(facts, kinds), TeamSizes(facts)

    def of_day(self, day: int) -> list[Table]:
        """One table for each size that some kind of the day asks for."""
        least = {k: self.sizes.least(day, kind.needs, kind.team) for k, kind in enumerate(self.kinds) if day in kind.fields}
        sizes = sorted({size for size in least.values() if size <= self.sizes.seats})
        return [self._table(day, size, [k for k in self.dominance.left(day, size) if least[k] <= size]) for size in sizes]

    def windows(self, day: int) -> list[Window]:
        """The different shifts of the day's fit people."""
        f = self.facts
        shifts = [f.shift[i][day] for i in f.members_of(f.fit[day])]
        return [Window(*one) for one in sorted({(s.start, s.end, s.regular_end) for s in shifts})]

    def _table(self, day: int, size: int, numbers: list[int]) -> Table:
        f, p = self.facts, self.facts.problem
        kinds = [self.kinds[k] for k in numbers]
        turbine = np.array([kind.turbine for kind in kinds], np.int64)
        used, place = np.unique(turbine, return_inverse=True)
        minutes = np.array(f.hop_min, np.int64)[np.ix_(used, used)]
        hop = np.array(f.hop_slots, np.int64)[np.ix_(used, used)]
        own = np.full((len(kinds), f.slots[day] + 1), FAR)
        for row, kind in enumerate(kinds):
            field = kind.fields[day]
            more = (1.0 - field.chance) * (f.abort_cents[day] * (size - kind.team))
            own[row, field.starts + field.slots] = field.cents + more
        fields = [kind.fields[day] for kind in kinds]
        return Table(
            day,
            size,
            np.array(numbers, np.int64),
            own,
            np.array([field.slots for field in fields], np.int64),
            np.array([field.has_break for field in fields], bool),
            np.array([field.by == "ladder" for field in fields], bool),
            place,
            hop,
            np.maximum(hop, -(-(minutes + p.rules.break_min) // p.slot_min)),
            minutes,
            np.array(f.base_slots, np.int64)[used],
            np.array(f.base_min, np.int64)[used],
            self._clashes(kinds),
        )

    def _clashes(self, kinds: list[Kind]) -> Bools:
        of = np.zeros((len(kinds), len(self.facts.problem.orders)), np.float32)
        for row, kind in enumerate(kinds):
            of[row, [o for o, _, _ in kind.jobs]] = 1.0
        found: Bools = of @ of.T > 0
        return found
