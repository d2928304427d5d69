"""What is still open beside the teams that are kept: a small linear problem of its own, so that dives take little time.

The rows are those of the master less what the kept columns use of them, so that its prices are prices of the master's rows; the
columns are those of the master that leave the kept teams their people and jobs, but for those that are `never` to be used.
"""

from __future__ import annotations

from collections.abc import Collection

import highspy
import numpy as np

from scheduling.fortnight.facts import Floats
from scheduling.fortnight.pool.master import Column, PoolMaster
from scheduling.fortnight.rows import EURO, INF, quiet

MOST_ITERATIONS = 20_000
"""Of one linear problem: now and then the dual simplex goes round in circles."""

GAP = 2e-4
FEASIBLE = 2
"""HiGHS's word for a solution that keeps all rows."""


class Rest:
    """`numbers`: the master's columns that are open, in the order of this problem; `value`: cents, the kept part included."""

    def __init__(self, master: PoolMaster, keep: list[int], seed: int, never: Collection[int]) -> None:
        self.master, self.keep, self.seed = master, keep, seed
        self.first, self.value = master.rows.columns, float("inf")
        self.kept_cents = sum(master.columns[i].cents for i in keep)
        self._busy, self._done = self._taken()
        self.numbers = [i for i, column in enumerate(master.columns) if i not in never and self._open(column)]
        gone = {master.columns[i].day for i in self.numbers} if keep else set()
        self.days = [day for day in master.days if not keep or day in gone]
        self.fixed: set[int] = set()
        self.highs = quiet(1, seed)
        self.highs.setOptionValue("simplex_iteration_limit", MOST_ITERATIONS)
        self._pass()

    def _taken(self) -> tuple[dict[int, int], set[object]]:
        """Who is out on which day, and the jobs done."""
        busy: dict[int, int] = {}
        done: set[object] = set()
        for i in self.keep:
            column = self.master.columns[i]
            busy[column.day] = busy.get(column.day, 0) | column.mask
            done.update(job for k in column.kinds for job in self.master.kinds[k].jobs)
        return busy, done

    def _open(self, column: Column) -> bool:
        if column.mask & self._busy.get(column.day, 0):
            return False
        return all(job not in self._done for k in column.kinds for job in self.master.kinds[k].jobs)

    def _pass(self) -> None:
        """Hand the model to HiGHS."""
        lp, used = self.master.base, np.zeros(self.master.rows.rows)
        for i in self.keep:
            rows, values = self.master.entries[i]
            used[rows] += values
        low, high = np.array(lp.row_lower_), np.array(lp.row_upper_)
        lp.row_lower_, lp.row_upper_ = low - used, high - used
        self.highs.passModel(lp)
        lp.row_lower_, lp.row_upper_ = low, high
        self._add(self.numbers)

    def _add(self, numbers: list[int]) -> None:
        if not numbers:
            return
        parts = [self.master.entries[i] for i in numbers]
        start = np.concatenate([[0], np.cumsum([len(rows) for rows, _ in parts])[:-1]]).astype(np.int32)
        rows, values = np.concatenate([r for r, _ in parts]), np.concatenate([v for _, v in parts])
        cents = np.array([self.master.columns[i].cents for i in numbers])
        count = len(numbers)
        self.highs.addCols(count, cents / EURO, np.zeros(count), np.full(count, INF), len(rows), start, rows, values)

    def shares(self) -> Floats | None:
        """Solve: the share of each open column; None where nothing can be done beside what is fixed."""
        self.highs.run()
        if self.highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        self.value = self.highs.getInfo().objective_function_value * EURO + self.kept_cents
        found: Floats = np.asarray(self.highs.getSolution().col_value)[self.first :]
        return found

    def grow(self, many: int) -> bool:
        """Let the master find columns that help here, at most so many a day; True if there are new ones. Solved before."""
        price = np.asarray(self.highs.getSolution().row_dual) * EURO
        known = len(self.master.columns)
        for day in self.days:
            self.master.price_day(day, price, many)
        new = [i for i in range(known, len(self.master.columns)) if self._open(self.master.columns[i])]
        self.numbers += new
        self._add(new)
        return bool(new)

    def fix(self, columns: list[int]) -> None:
        """Use these columns (numbers of this problem)."""
        for column in columns:
            self.highs.changeColBounds(self.first + column, 1.0, INF)
        self.fixed |= set(columns)

    def forbid(self, columns: list[int]) -> None:
        """The last of the columns may not be used; the others are free again."""
        for column in columns:
            self.highs.changeColBounds(self.first + column, 0.0, 0.0 if column == columns[-1] else INF)
        self.fixed -= set(columns[:-1])

    def plan(self, shares: Floats) -> list[int]:
        """The master's columns of a whole solution."""
        return [*self.keep, *(self.numbers[int(i)] for i in np.flatnonzero(shares > 0.5))]

    def whole(self, seconds: float, below: float) -> tuple[float, list[int]] | None:
        """Cents and the master's columns of the best whole plan found in that time; None where none costs less than `below`."""
        highs = quiet(1, self.seed)
        highs.setOptionValue("time_limit", seconds)
        highs.setOptionValue("mip_rel_gap", GAP)
        highs.passModel(self._whole_model(below))
        highs.run()
        info = highs.getInfo()
        cents = info.objective_function_value * EURO + self.kept_cents
        if info.primal_solution_status != FEASIBLE or cents >= below:
            return None
        return cents, self.plan(np.asarray(highs.getSolution().col_value)[self.first :])

    def _whole_model(self, below: float) -> highspy.HighsLp:
        """The model in whole numbers, without what cannot be part of a plan that costs less than this."""
        reduced = np.asarray(self.highs.getSolution().col_dual) * EURO
        lp = self.highs.getLp()
        upper = np.array(lp.col_upper_)
        upper[(reduced > below - self.value) & (np.asarray(lp.col_lower_) < 0.5)] = 0.0
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.col_upper_ = upper
        lp.integrality_ = [kinds[int(w)] for w in self.master.rows.whole()] + [kinds[1]] * len(self.numbers)
        return lp
