"""The newest forecast as seen from one stay: which slots are good, how sure each start is, which limit has least room."""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import NDArray

from scheduling import access
from scheduling.day.problem import Binding, Limit, Problem, Stay

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

HOLDS = {"<=": np.less_equal, "<": np.less, ">=": np.greater_equal, ">": np.greater}


def values_of(problem: Problem, limit: Limit) -> Floats | None:
    """float [members, slots] of a limit's series, NaN = unknown; None if the forecast has no such series."""
    rows = problem.series.get(limit.series)
    return None if rows is None else np.array(rows, dtype=float)


def holds(values: Floats, limit: Limit) -> Bools:
    """bool like `values`: the limit holds. NaN never does."""
    result: Bools = HOLDS[limit.op](values, limit.value)
    return result


class View:
    """The forecast for one stay. `workable` is bool [members, slots]; all False where a series is missing."""

    def __init__(self, problem: Problem, stay: Stay) -> None:
        self.problem, self.stay = problem, stay
        self.limits = problem.limit_sets[stay.limits]
        self.values = [values_of(problem, limit) for limit in self.limits]
        members = next((len(rows) for rows in problem.series.values()), 1)
        self.workable: Bools = np.ones((members, problem.slots), dtype=bool)
        for limit, values in zip(self.limits, self.values, strict=True):
            self.workable &= False if values is None else holds(values, limit)

    def slots_of(self, start_min: int) -> tuple[int, int]:
        """[first, last) slots that a stay from `start_min` touches."""
        size = self.problem.slot_min
        return start_min // size, ceil((start_min + self.stay.minutes) / size)

    def chance(self, start_min: int) -> float:
        """Share of members in which the whole stay from `start_min` fits; 0 outside the forecast or if that is not fresh."""
        first, past = self.slots_of(start_min)
        if not self.problem.fresh or first < 0 or past > self.problem.slots:
            return 0.0
        return float(access.chance(self.workable[:, first:past], past - first)[0])

    def down_by_min(self, start_min: int) -> int | None:
        """End of the window that opens at `start_min`, at the asked confidence."""
        slot = access.down_by(self.workable, start_min // self.problem.slot_min, self.problem.confidence)
        return None if slot is None else slot * self.problem.slot_min

    def binding(self, start_min: int) -> Binding | None:
        """The limit with the least room, relative to its value, over the stay from `start_min`."""
        first, past = self.slots_of(start_min)
        first, past = max(0, first), min(self.problem.slots, past)
        if first >= past:
            return None
        found = [self._room(n, first, past) for n in range(len(self.limits))]
        return min(found, key=lambda pair: pair[0])[1]

    def _room(self, n: int, first: int, past: int) -> tuple[float, Binding]:
        limit, values = self.limits[n], self.values[n]
        sign = 1.0 if limit.op in ("<=", "<") else -1.0
        here = np.full((1, past - first), np.nan) if values is None else values[:, first:past]
        worst = np.where(np.isnan(here), np.inf, sign * here)
        kept = np.sort(worst, axis=0)[ceil(self.problem.confidence * len(worst) - 1e-9) - 1]
        slot = int(np.argmax(kept))
        room = (sign * limit.value - float(kept[slot])) / max(abs(limit.value), 1.0)
        value = sign * float(kept[slot]) if np.isfinite(kept[slot]) else None
        at_min = (first + slot) * self.problem.slot_min
        return room, Binding(limit.name, value, limit.op, limit.value, limit.unit, at_min)
