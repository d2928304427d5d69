"""Whole plans from the linear master: fix the columns it likes best, let it find new ones beside them, and so on.

Then some days of the plan are freed again and dived anew; what is better is kept.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.pool.master import PoolMaster
from scheduling.fortnight.rows import INF

SURE = 0.9
"""Columns with at least this share of the solution are fixed together."""

MOST_STEPS = 400
PRICE_EVERY = 4
"""Steps of a dive between two looks for new columns."""

NEAR = 1e-6
Over = Callable[[], bool]


class Dive:
    """Dives in one master problem. `best`: numbers of the columns of the best plan; `value`: its cents in the master's money."""

    def __init__(self, master: PoolMaster, seed: int, over: Over) -> None:
        self.master, self.rng, self.over = master, random.Random(seed), over
        self.best: list[int] = []
        self.value = float("inf")
        self._fixed: set[int] = set()

    def again(self, keep: list[int]) -> bool:
        """Fix the columns to keep, dive from there, free everything; True if that gave the best plan so far."""
        self.master.highs.setOptionValue("simplex_strategy", 1)  # dual: a bound that moves leaves the basis dual feasible
        self._fix(keep)
        try:
            found = self._down()
        finally:
            self._free()
        if found is None or found[0] >= self.value - 1.0:
            return False
        self.value, self.best = found
        return True

    def _down(self) -> tuple[float, list[int]] | None:
        """Fix more and more until every route is whole; None where time is up, or the rest of the way is dearer than the best."""
        last: list[int] = []
        for step in range(MOST_STEPS):
            if self.over():
                return None
            if step % PRICE_EVERY == PRICE_EVERY - 1:
                self.master.round(8)
            value = self._value()
            if value is None:
                if not last:
                    return None
                last = self._back(last)
                continue
            if self.master.value >= self.value - 1.0:
                return None
            open_ = np.flatnonzero((value > NEAR) & (value < 1.0 - NEAR))
            if not len(open_):
                return self.master.value, np.flatnonzero(value > 0.5).tolist()
            last = self._likely(value, open_)
            self._fix(last)
        return None

    def _back(self, last: list[int]) -> list[int]:
        """Nothing can be done beside the columns fixed last: forbid the last of them, free the others."""
        start = self.master.rows.columns
        for column in last:
            self.master.highs.changeColBounds(start + column, 0.0, 0.0 if column == last[-1] else INF)
        return last[:-1]

    def _likely(self, value: Floats, open_: Ints) -> list[int]:
        sure = np.flatnonzero(value >= SURE)
        new = [int(i) for i in sure if int(i) not in self._fixed]
        return new or [int(open_[value[open_].argmax()])]

    def _value(self) -> Floats | None:
        """Shares of the columns; None where nothing can be done beside what is fixed."""
        self.master.solve()
        if not self.master.solved():
            return None
        found: Floats = np.asarray(self.master.highs.getSolution().col_value)[self.master.rows.columns :]
        return found

    def _fix(self, columns: list[int]) -> None:
        for column in columns:
            self.master.highs.changeColBounds(self.master.rows.columns + column, 1.0, INF)
        self._fixed |= set(columns)  # whatever is touched is freed at the end

    def _free(self) -> None:
        for column in self._fixed:
            self.master.highs.changeColBounds(self.master.rows.columns + column, 0.0, INF)
        self._fixed = set()

    # --- neighbourhoods -----------------------------------------------------------------------------------------------

    def part_to_keep(self) -> list[int]:
        """The columns of the best plan, less those of a few days."""
        days = sorted({self.master.columns[i].day for i in self.best})
        gone = set(self.rng.sample(days, min(len(days), self.rng.choice((2, 3, 3, 4)))))
        return [i for i in self.best if self.master.columns[i].day not in gone]
