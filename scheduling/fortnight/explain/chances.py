"""The chance of a stay at every start of the horizon at once."""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain.background import LimitTable


class Chances:
    """Shares of members by start: float [columns], 0 where the stay would pass the end of its day. Each worked out once."""

    def __init__(self, view: View) -> None:
        self.view, self.problem = view, view.problem
        days = self.problem.days
        self.days = np.repeat(np.arange(len(days)), [day.slots for day in days])
        ends = np.array([day.first_slot + day.slots for day in days], np.int64)
        self.left = ends[self.days] - np.arange(self.problem.total_slots)
        self._misses: dict[Hashable, NDArray[np.int32]] = {}
        self._shares: dict[Hashable, NDArray[np.float64]] = {}

    def of(self, windows: tuple[str, ...], slots: int) -> NDArray[np.float64]:
        """Of a stay of so many slots that every one of these windows must hold."""
        if windows not in self._misses:
            self._misses[windows] = _so_far(np.logical_and.reduce([self.view.members(key) for key in windows]))
        return self._share(windows, slots)

    def of_limit(self, limit: LimitTable, slots: int) -> NDArray[np.float64]:
        """The same for one limit by itself."""
        if limit not in self._misses:
            self._misses[limit] = _so_far(limit.holds)
        return self._share(limit, slots)

    def _share(self, key: Hashable, slots: int) -> NDArray[np.float64]:
        if (key, slots) not in self._shares:
            misses, found = self._misses[key], np.zeros(self.problem.total_slots)
            fits = np.flatnonzero(self.left >= slots)
            found[fits] = (misses[:, fits + slots] == misses[:, fits]).sum(axis=0) / len(misses)
            self._shares[key, slots] = found
        return self._shares[key, slots]


def _so_far(holds: NDArray[np.bool_]) -> NDArray[np.int32]:
    """int [members, columns + 1]: slots before this column in which it does not hold."""
    misses = np.zeros((holds.shape[0], holds.shape[1] + 1), np.int32)
    np.cumsum(~holds, axis=1, out=misses[:, 1:])
    return misses
