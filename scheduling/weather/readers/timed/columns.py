"""Columns that bring their own times, as any format gives them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.recipe import Column
from scheduling.weather.series import FloatArray

Seconds = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Times:
    """`items` [n]: numbers of the items that have a time; `starts` [n]: UTC seconds; `ends` [n], None for instants."""

    items: NDArray[np.int64]
    starts: Seconds
    ends: Seconds | None
    total: int

    @property
    def step_s(self) -> int | None:
        """The step that every interval is a multiple of, an hour at most, so that the length of an interval alone never
        makes a grid coarse; None for instants.
        """
        if self.ends is None:
            return None
        lengths = np.concatenate([self.ends - self.starts, np.diff(np.unique(self.starts))])
        return math.gcd(3600, *map(int, np.unique(lengths)))


@dataclass(frozen=True, eq=False)
class Timed:
    """`values` [n] in the unit the variable is kept in, one for each of `times`.

    list_name   which list of times these are: columns with one name share their rows
    member      of an ensemble, from 1; 0 for a single forecast or an observation
    drawn       the values were drawn from what the file says, so that no rule for sensors applies to them
    """

    column: Column
    times: Times
    values: FloatArray
    list_name: str
    member: int = 0
    drawn: bool = False
    notes: tuple[str, ...] = ()
