"""Whole plans from the linear master: fix the columns it likes best, let it find new ones beside them, and so on.

Then parts of the plan are freed again and dived anew; what is better is kept.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.pool.master import PoolMaster
from scheduling.fortnight.pool.parts import Parts
from scheduling.fortnight.pool.whole import rest_of
from scheduling.fortnight.rows import INF

SURE = 0.9
"""Columns with at least this share of the solution are fixed together."""

MOST_STEPS = 400
PRICE_EVERY = 4
"""Steps of a dive between two looks for new columns."""

NEAR = 1e-6
MOST_ITERATIONS = 20_000
"""Of one linear problem in a dive: now and then the dual simplex goes round in circles."""

LEAP = 0.002
"""Share of the value by which fixing one column may raise it before forbidding it is tried."""

FEW, REST_S = 50, 3.0
"""So few open columns are left to HiGHS, for so many seconds."""

Over = Callable[[], bool]


class Dive:
    """Dives in one master problem. `best`: numbers of the columns of the best plan; `value`: its cents in the master's money."""

    def __init__(self, master: PoolMaster, seed: int, over: Over) -> None:
        self.master, self.rng, self.over = master, random.Random(seed), over
        self.best: list[int] = []
        self.value = float("inf")
        self.seed = seed
        self._parts = Parts(master, self.rng)
        self._fixed: set[int] = set()
        self._touched: set[int] = set()

    def part(self) -> bool:
        """Dive anew in a part of the best plan; True if that gave a better one."""
        return self.again(self._parts.keep(self.best) if self.best else [])

    def again(self, keep: list[int]) -> bool:
        """Fix the columns to keep, dive from there, free everything; True if that gave the best plan so far."""
        self.master.highs.setOptionValue("simplex_strategy", 1)  # dual: a bound that moves leaves the basis dual feasible
        self.master.highs.setOptionValue("simplex_iteration_limit", MOST_ITERATIONS)
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
        value = self._value()
        for step in range(1, MOST_STEPS):
            if self.over() or value is None or self.master.value >= self.value - 1.0:
                return None
            if step % PRICE_EVERY == 0:
                self.master.round(8)
                value = self._value()
                if value is None:
                    return None
            open_ = np.flatnonzero((value > NEAR) & (value < 1.0 - NEAR))
            if not len(open_):
                return self.master.value, np.flatnonzero(value > 0.5).tolist()
            if len(open_) <= FEW:
                return rest_of(self.master, REST_S, self.seed, self.value - 1.0)
            value = self._step(value, open_)
        return None

    def _step(self, value: Floats, open_: Ints) -> Floats | None:
        """Fix the likely columns; of a single one that makes the value leap, see whether it is better forbidden."""
        before, likely = self.master.value, self._likely(value, open_)
        self._fix(likely)
        after = self._value()
        if after is not None and (len(likely) > 1 or self.master.value <= before * (1.0 + LEAP)):
            return after
        fixed = self.master.value if after is not None else INF
        self._forbid(likely)
        other = self._value()
        if other is not None and self.master.value < fixed:
            return other
        self._fix(likely)
        return self._value()

    def _forbid(self, likely: list[int]) -> None:
        """The last of the columns may not be used; the others are free again."""
        start = self.master.rows.columns
        for column in likely:
            self.master.highs.changeColBounds(start + column, 0.0, 0.0 if column == likely[-1] else INF)
        self._fixed -= set(likely[:-1])

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
        self._fixed |= set(columns)
        self._touched |= set(columns)

    def _free(self) -> None:
        for column in self._touched:
            self.master.highs.changeColBounds(self.master.rows.columns + column, 0.0, INF)
        self._fixed, self._touched = set(), set()
