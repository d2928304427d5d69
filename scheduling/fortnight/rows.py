"""A sparse linear model put together piece by piece and handed to HiGHS in one go."""

from __future__ import annotations

import highspy
import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
INF = highspy.kHighsInf
EURO = 100.0
"""Cents per unit of the models' objectives, so that coefficients stay small."""


class Rows:
    """Columns and rows of a minimisation. Adding gives back the numbers of what was added."""

    def __init__(self) -> None:
        self.columns = 0
        self.rows = 0
        self._cost: list[Floats] = []
        self._upper: list[Floats] = []
        self._whole: list[NDArray[np.bool_]] = []
        self._entries: list[tuple[Ints, Ints, Floats]] = []
        self._low: list[Floats] = []
        self._high: list[Floats] = []

    def add_columns(self, count: int, *, cost: ArrayLike = 0.0, upper: ArrayLike = 1.0, whole: bool = False) -> Ints:
        """`count` columns from 0 to `upper`, whole numbers if asked."""
        self._cost.append(np.broadcast_to(np.asarray(cost, float), (count,)))
        self._upper.append(np.broadcast_to(np.asarray(upper, float), (count,)))
        self._whole.append(np.full(count, whole))
        self.columns += count
        return np.arange(self.columns - count, self.columns)

    def add_rows(self, count: int, low: ArrayLike, high: ArrayLike) -> Ints:
        """`count` empty rows with low <= row <= high."""
        self._low.append(np.broadcast_to(np.asarray(low, float), (count,)))
        self._high.append(np.broadcast_to(np.asarray(high, float), (count,)))
        self.rows += count
        return np.arange(self.rows - count, self.rows)

    def put(self, rows: ArrayLike, columns: ArrayLike, values: ArrayLike) -> None:
        """Add values at (row, column); places named twice are summed."""
        row, column, value = np.broadcast_arrays(np.asarray(rows, int), np.asarray(columns, int), np.asarray(values, float))
        self._entries.append((row.ravel(), column.ravel(), value.ravel()))

    def add_row(self, low: float, high: float, columns: ArrayLike, values: ArrayLike = 1.0) -> int:
        """One row at once; gives its number."""
        row = int(self.add_rows(1, low, high)[0])
        self.put(row, columns, values)
        return row

    def costs(self) -> Floats:
        """Cost of every column."""
        return np.concatenate(self._cost) if self._cost else np.zeros(0)

    def whole(self) -> NDArray[np.bool_]:
        """Which columns must be whole numbers."""
        return np.concatenate(self._whole) if self._whole else np.zeros(0, bool)

    def model(self, offset: float, *, integer: bool) -> highspy.HighsLp:
        """The model for HiGHS; without `integer` its linear relaxation."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_, lp.offset_ = self.columns, self.rows, offset
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = self.costs(), np.zeros(self.columns), np.concatenate(self._upper)
        lp.row_lower_ = np.concatenate(self._low) if self._low else np.zeros(0)
        lp.row_upper_ = np.concatenate(self._high) if self._high else np.zeros(0)
        start, index, value = self._by_column()
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = start, index, value
        if integer:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[int(w)] for w in self.whole()]
        return lp

    def _by_column(self) -> tuple[Ints, Ints, Floats]:
        """Compressed columns; entries at the same place summed, zeros dropped."""
        parts = list(zip(*self._entries, strict=True)) or [(), (), ()]
        row, column, value = (np.concatenate(part) if part else np.zeros(0) for part in parts)
        key = column.astype(np.int64) * max(self.rows, 1) + row.astype(np.int64)
        places, where = np.unique(key, return_inverse=True)
        summed = np.bincount(where, weights=value, minlength=len(places)) if len(places) else np.zeros(0)
        places, summed = places[summed != 0], summed[summed != 0]
        start = np.searchsorted(places, np.arange(self.columns + 1) * max(self.rows, 1))
        return start.astype(np.int64), places % max(self.rows, 1), summed


def in_euro(lp: highspy.HighsLp) -> highspy.HighsLp:
    """The model with its costs in euro instead of cents."""
    lp.col_cost_ = np.asarray(lp.col_cost_) / EURO
    return lp


def quiet(threads: int, seed: int) -> highspy.Highs:
    """A HiGHS that prints nothing."""
    highs = highspy.Highs()  # type: ignore[no-untyped-call]
    # HiGHS keeps its threads for the whole process and refuses another number than its first run asked for (the year's solve
    # in the same worker, say): then it would end with an error and every value read would be 0.
    highs.resetGlobalScheduler(True)
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", threads)
    highs.setOptionValue("random_seed", seed % 2_147_483_647)
    return highs
