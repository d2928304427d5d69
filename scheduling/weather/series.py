"""One weather variable at one place and height on a regular grid of UTC times."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import IntFlag
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.units import VARIABLES, unit_choices

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


class Flag(IntFlag):
    """Why a value may not be used; several may be set at once.

    Anything but OK counts as missing for a window.
    """

    OK = 0
    MISSING = 1  # the row is there, the value is not
    GAP = 2  # no row for this time at all
    STUCK = 4  # a constant run too long for a living sensor
    DEAD = 8  # exactly 0.0 while a neighbour blows, or for hours
    SPIKE = 16  # up and down again within one step
    RANGE = 32  # outside what the variable can be
    CONFLICT = 64  # the same time came with different values
    COARSE = 128  # the step is too coarse to say anything about this slot
    JUMP = 256  # a step up or down that stays, larger than the variable can do in that time
    SCALE = 512  # off by a factor from the rest of the series: a unit slipped
    ICING = 1024  # the sensor may be iced over
    DOUBLED = 2048  # from an hour that the clock of the file has twice, or wrongly so


FlagArray = NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class Series:
    """A variable on a regular grid: value i covers [start + i*step, start + (i+1)*step), in UTC.

    values      float64 [n] in the unit of VARIABLES[variable]; NaN where missing
    flags       uint16 [n] of Flag; a flagged value keeps its number here and reads as NaN in `usable()`
    height_m    above ground; averaging_min: of each value, in minutes (a 3 s gust: 0.05)
    name        where it came from: the column of the file
    member      number of the ensemble member from 1; 0 for a single forecast or an observation
    """

    variable: str
    height_m: float
    averaging_min: float
    start: datetime
    step_min: int
    values: FloatArray
    flags: FlagArray
    name: str = ""
    member: int = 0

    def __post_init__(self) -> None:
        unit_choices(self.variable)
        if self.start.tzinfo is None:
            raise ValueError("start: the time has no zone; give it in UTC")
        if self.step_min < 1 or not self.averaging_min > 0 or not self.height_m >= 0:
            raise ValueError("step_min, averaging_min and height_m: give positive numbers (height may be 0)")
        if self.values.ndim != 1 or self.values.shape != self.flags.shape:
            raise ValueError("values and flags: give two arrays [n] of the same length")
        object.__setattr__(self, "start", self.start.astimezone(UTC))
        object.__setattr__(self, "flags", self.flags.astype(np.uint16))
        self.values.setflags(write=False)
        self.flags.setflags(write=False)

    @property
    def unit(self) -> str:
        """The unit the values are kept in."""
        return VARIABLES[self.variable]

    @property
    def end(self) -> datetime:
        """The end of the last value's interval, UTC."""
        return self.time(len(self.values))

    def time(self, index: int) -> datetime:
        """The start of value `index`, UTC."""
        return self.start + timedelta(minutes=self.step_min * index)

    def times(self) -> NDArray[np.datetime64]:
        """datetime64[m] [n]: the starts, UTC."""
        first = np.datetime64(self.start.replace(tzinfo=None), "m")
        return first + np.arange(len(self.values)) * np.timedelta64(self.step_min, "m")

    def index(self, when: datetime) -> int:
        """The index of the value whose interval holds `when`; may lie outside 0..n-1."""
        return int((when - self.start) // timedelta(minutes=self.step_min))

    def usable(self) -> FloatArray:
        """float64 [n]: the values, NaN wherever a flag is set."""
        return np.where(self.flags == 0, self.values, np.nan)

    def between(self, start: datetime, end: datetime) -> Series:
        """The stretch of whole steps inside [start, end). Raises ValueError when nothing of it is covered."""
        low = max(0, -int((self.start - start) // timedelta(minutes=self.step_min)))
        high = min(len(self.values), self.index(end))
        if low >= high:
            raise ValueError(
                f"{self.name or self.variable}: nothing between {start:%Y-%m-%d %H:%M} and {end:%Y-%m-%d %H:%M}; "
                f"the series runs from {self.start:%Y-%m-%d %H:%M} to {self.end:%Y-%m-%d %H:%M} UTC"
            )
        return replace(self, start=self.time(low), values=self.values[low:high], flags=self.flags[low:high])

    def with_values(self, values: FloatArray, **changes: Any) -> Series:
        """The same series with other values (and, if given, other fields)."""
        return replace(self, values=values, **changes)


def series_of(
    variable: str,
    values: FloatArray,
    *,
    start: datetime,
    step_min: int,
    height_m: float,
    averaging_min: float,
    name: str = "",
) -> Series:
    """A Series from plain values [n]: NaN becomes MISSING, all else is unflagged."""
    data = np.array(values, dtype=np.float64)
    flags = np.where(np.isfinite(data), 0, int(Flag.MISSING)).astype(np.uint16)
    return Series(variable, height_m, averaging_min, start, step_min, data, flags, name)


def same_grid(one: Series, two: Series) -> bool:
    """Whether two series have a value for exactly the same steps."""
    return one.start == two.start and one.step_min == two.step_min and len(one.values) == len(two.values)


def preferred(series: Sequence[Series]) -> Series:
    """One series out of several of the same variable and height: each step takes the first unflagged value.

    Where none has one, the value and flags of the first stay. Raises ValueError when they differ in kind or
    grid.
    """
    first = series[0]
    kinds = {(one.variable, one.height_m, one.averaging_min, one.member) for one in series}
    if len(kinds) > 1 or not all(same_grid(first, one) for one in series):
        raise ValueError("series: only series of one variable, height, averaging and grid can stand in for each other")
    values, flags = first.values.copy(), first.flags.copy()
    for other in series[1:]:
        fill = (flags != 0) & (other.flags == 0)
        values[fill], flags[fill] = other.values[fill], 0
    return replace(first, values=values, flags=flags)


def flag_runs(flags: FlagArray, flag: Flag) -> Iterator[tuple[int, int]]:
    """(first, length) of each unbroken run of `flag`."""
    edges = np.flatnonzero(np.diff(np.r_[0, (flags & int(flag)) != 0, 0].astype(np.int8)))
    for first, past in zip(edges[::2], edges[1::2], strict=True):
        yield int(first), int(past - first)
