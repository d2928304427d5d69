"""One stretch of past weather judged against one limit set: what is good, what is unknown, which hours count."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from scheduling.access.judge import Field, holds, judged_values
from scheduling.access.limits import LimitSet
from scheduling.access.windows import fitting_starts, inside_windows, wait_slots
from scheduling.weather.climate.clock import Ints, iso_weeks, local_clock, months
from scheduling.weather.series import BoolArray, FloatArray, Series


def judged(fields: dict[str, Field], limit_set: LimitSet) -> tuple[BoolArray, BoolArray]:
    """(good, unknown) bool [n] from fields [1, n]: every limit holds; none is known to be passed, but not all are known.

    Neither means a limit is known to be passed. Raises ValueError, naming it, where a limit asks for a variable of which
    the past weather holds nothing: such a record says nothing about that limit set.
    """
    steps = np.broadcast_shapes(*(field.values.shape for field in fields.values()))[-1]
    passed, unknown = np.zeros(steps, dtype=bool), np.zeros(steps, dtype=bool)
    for limit in limit_set.limits:
        values = judged_values(fields, limit, limit_set)
        if values is None:
            raise ValueError(
                f"{limit.variable}: the past weather holds none, and limit set {limit_set.name!r} asks for it; import past "
                "weather with it, or choose a limit set without it"
            )
        blank = np.isnan(values[0])
        passed |= ~blank & ~holds(values, limit)[0]
        unknown |= blank
    return ~passed & ~unknown, unknown & ~passed


@dataclass(frozen=True, eq=False)
class Past:
    """A regular stretch of past weather, ready to be counted; arrays are [n] on the steps of `grid`.

    grid        any series of the stretch: gives start and step
    good        every limit holds
    unknown     nobody knows whether every limit holds (gap, flag); never counts as good
    counts      the step lies wholly in the hours that count: working day, and daylight where asked
    steps       the stay, in whole steps
    zone        of the site, for days, weeks and months
    """

    grid: Series
    good: BoolArray
    unknown: BoolArray
    counts: BoolArray
    steps: int
    zone: str

    @property
    def step_h(self) -> float:
        """Length of a step in hours."""
        return self.grid.step_min / 60.0

    @cached_property
    def days(self) -> Ints:
        """int64 [n]: local days since 1970-01-01."""
        return local_clock(self.grid, self.zone)[0]

    @cached_property
    def iso(self) -> tuple[Ints, Ints]:
        """(ISO year, ISO week) [n]."""
        return iso_weeks(self.days)

    @cached_property
    def months(self) -> tuple[Ints, Ints]:
        """(year, month) [n]."""
        return months(self.days)

    @cached_property
    def starts(self) -> BoolArray:
        """bool [n]: the whole stay fits from here."""
        return fitting_starts(self.good & self.counts, self.steps)

    @cached_property
    def first_of_day(self) -> BoolArray:
        """bool [n]: the first step of each local day."""
        first: BoolArray = np.r_[True, np.diff(self.days) > 0]
        return first

    @cached_property
    def fitting_days(self) -> BoolArray:
        """bool [n]: the first step of each local day on which the stay fits from some start."""
        number = np.cumsum(self.first_of_day) - 1
        fits = np.bincount(number, weights=self.starts.astype(np.float64)) > 0
        fitting: BoolArray = self.first_of_day & fits[number]
        return fitting

    @cached_property
    def workable(self) -> BoolArray:
        """bool [n]: the step lies in a run long enough for the stay."""
        return inside_windows(self.good & self.counts, self.steps)

    @cached_property
    def wait_h(self) -> FloatArray:
        """float64 [n]: hours from each step to the next start, 0 at one; NaN where an unknown stretch may have held an
        earlier one, or the record ends first."""
        perhaps = fitting_starts((self.good | self.unknown) & self.counts, self.steps)
        sure, earliest = wait_slots(self.starts), wait_slots(perhaps)
        return np.where(sure == earliest, sure, np.nan) * self.step_h

    @cached_property
    def wait_always_good_h(self) -> FloatArray:
        """float64 [n]: the same wait if every limit always held: what nights and darkness alone cost."""
        return wait_slots(fitting_starts(self.counts, self.steps)) * self.step_h


def in_working_day(series: Series, zone: str, opens_h: float, closes_h: float) -> BoolArray:
    """bool [n]: the step lies wholly in [opens_h, closes_h) of the local clock; 0 to 24 is always.

    On the days the clocks change the window keeps its local hours: a window over the change is an hour shorter or longer.
    Raises ValueError for a window that is none.
    """
    if not 0 <= opens_h < closes_h <= 24:
        raise ValueError(f"working day: {opens_h:g} to {closes_h:g} h is none; give hours with 0 <= from < to <= 24")
    if opens_h == 0 and closes_h == 24:
        return np.ones(len(series.values), dtype=bool)
    hour = local_clock(series, zone)[1]
    inside: BoolArray = (hour >= opens_h - 1e-9) & (hour + series.step_min / 60.0 <= closes_h + 1e-9)
    return inside


def stay_steps(stay_min: float, step_min: int) -> int:
    """Whole steps that hold a stay. Raises ValueError for a stay not above 0."""
    if not stay_min > 0:
        raise ValueError("stay_min: give minutes above 0")
    return max(1, int(np.ceil(stay_min / step_min - 1e-9)))
