"""Whole plans from the linear master: fix the columns it likes best, solve again, and so on until every route is whole.

Then parts of the plan are freed again and dived anew; what is better is kept.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.pool.master import Column, PoolMaster
from scheduling.fortnight.pool.parts import Parts
from scheduling.fortnight.pool.rest import Rest
from scheduling.fortnight.rows import INF

SURE = 0.9
"""Columns with at least this share of the solution are fixed together."""

MOST_STEPS = 400
NEAR = 1e-6
LEAP = 0.002
"""Share of the value by which fixing one column may raise it before forbidding it is tried."""

PRICE_EVERY, MANY = 4, 8
"""Steps of a dive from nothing between two looks for new columns, and how many of a day are taken in."""

MOST_FIRST = 2000
"""Columns that a dive from nothing begins with."""

FEW, REST_S = 50, 3.0
"""So few open columns are left to HiGHS, for so many seconds."""

Over = Callable[[], bool]
Timed = Callable[[Column], Column | None]
"""A column as it is once it has its times: waits included; None where it cannot be."""


class Dive:
    """Dives in one master problem. `best`: numbers of the columns of the best plan; `value`: its cents in the master's money."""

    def __init__(self, master: PoolMaster, seed: int, over: Over, timed: Timed) -> None:
        self.master, self.seed, self.over, self.timed = master, seed, over, timed
        self.best: list[int] = []
        self.value = float("inf")
        self._true: dict[int, int | None] = {}
        self._parts = Parts(master, random.Random(seed))

    def part(self) -> bool:
        """Dive anew in a part of the best plan; True if that gave a better one."""
        better = self.again(self._parts.keep(self.best) if self.best else [])
        self._parts.vain = 0 if better else self._parts.vain + 1
        return better

    def again(self, keep: list[int]) -> bool:
        """Keep these columns and dive for the rest; True if that gave the best plan so far."""
        found = self._down(Rest(self.master, keep, self.seed, self._untrue())) if keep else self._from_all()
        return found is not None and self.take(found[1])

    def take(self, plan: list[int]) -> bool:
        """Take a plan for the best, its columns as long and dear as they are with their waits; False where it is not the best."""
        true = [self._timed(i) for i in plan]
        columns = [i for i in true if i is not None]
        if len(columns) < len(plan) or not self._within_hours(columns):
            return False
        cents = self._cents(columns)
        if cents >= self.value - 1.0:
            return False
        self.value, self.best = cents, columns
        return True

    def time_all(self) -> None:
        """Learn how long and dear the columns are that the master has by now."""
        for number in range(len(self.master.columns)):
            self._timed(number)

    def _timed(self, number: int) -> int | None:
        """The column as it is on the board: the number of one that takes all its time; None where it cannot be."""
        if number not in self._true:
            true = self.timed(self.master.columns[number])
            found = self._true[number] = None if true is None else self.master.add(true)
            if found is not None:
                self._true[found] = found
        return self._true[number]

    def _untrue(self) -> set[int]:
        return {i for i, true in self._true.items() if i != true}

    def _within_hours(self, columns: list[int]) -> bool:
        facts, used = self.master.facts, dict[tuple[int, str], int]()
        for column in (self.master.columns[i] for i in columns):
            for person in facts.members_of(column.mask):
                key = (person, facts.problem.days[column.day].week)
                used[key] = used.get(key, 0) + column.least_min
        return all(minutes <= facts.week_left(*key) for key, minutes in used.items())

    def _cents(self, columns: list[int]) -> float:
        """What a plan costs in the master's money: nothing but these columns is free to move."""
        rest = Rest(self.master, columns, self.seed, range(len(self.master.columns)))
        return float("inf") if rest.shares() is None else rest.value

    def _from_all(self) -> tuple[float, list[int]] | None:
        """A dive from nothing, among the columns that the linear optimum likes best."""
        self.master.highs.setOptionValue("simplex_strategy", 4)
        self.master.solve()
        reduced = np.asarray(self.master.highs.getSolution().col_dual)[self.master.rows.columns :]
        dear = np.argsort(reduced, kind="stable")[MOST_FIRST:]
        return self._down(Rest(self.master, [], self.seed, self._untrue() | {int(i) for i in dear}))

    def _down(self, rest: Rest) -> tuple[float, list[int]] | None:
        """Fix more and more until every route is whole; None where time is up, or the rest of the way is dearer than the best."""
        shares = rest.shares()
        for step in range(1, MOST_STEPS):
            if step % PRICE_EVERY == 0 and not rest.keep and shares is not None and rest.grow(MANY):
                shares = rest.shares()
            if self.over() or shares is None or rest.value >= self.value - 1.0:
                return None
            open_ = np.flatnonzero((shares > NEAR) & (shares < 1.0 - NEAR))
            if not len(open_):
                return rest.value, rest.plan(shares)
            if len(open_) <= FEW:
                return rest.whole(REST_S, self.value - 1.0)
            shares = _step(rest, shares, open_)
        return None


def _step(rest: Rest, shares: Floats, open_: Ints) -> Floats | None:
    """Fix the likely columns; of a single one that makes the value leap, see whether it is better forbidden."""
    before, likely = rest.value, _likely(rest, shares, open_)
    rest.fix(likely)
    after = rest.shares()
    if after is not None and (len(likely) > 1 or rest.value <= before * (1.0 + LEAP)):
        return after
    fixed = rest.value if after is not None else INF
    rest.forbid(likely)
    other = rest.shares()
    if other is not None and rest.value < fixed:
        return other
    rest.fix(likely)
    return rest.shares()


def _likely(rest: Rest, shares: Floats, open_: Ints) -> list[int]:
    sure = np.flatnonzero(shares >= SURE)
    new = [int(i) for i in sure if int(i) not in rest.fixed]
    return new or [int(open_[shares[open_].argmax()])]
