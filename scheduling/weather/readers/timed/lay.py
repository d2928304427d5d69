"""Columns with times of their own onto one grid: intervals stand for each step inside them, coarse stretches are flagged."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.coarse import coarse_slots, finest_step_s, flag_coarse
from scheduling.weather.readers.grid import MAX_STEPS, Grid, lay_grid, place
from scheduling.weather.readers.report import Conflict, ReadRefused
from scheduling.weather.readers.timed.columns import Seconds, Timed, Times
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import BoolArray, Series


@dataclass(frozen=True, eq=False)
class Laid:
    """One column on the grid. `slots` [rows]: where its rows went; `coarse`, `spread` bool [steps]: inside a coarse
    stretch; inside an interval of several steps.
    """

    series: Series
    conflicts: tuple[Conflict, ...]
    slots: NDArray[np.int64]
    coarse: BoolArray
    spread: BoolArray


def grid_of(columns: Sequence[Timed], recipe: Recipe) -> tuple[Grid, list[Laid]]:
    """Lay every column on the grid of the finest step. Raises ReadRefused when the steps do not fit one grid."""
    step_s = recipe.step_min * 60 if recipe.step_min is not None else _step_s(columns)
    starts = [_starts(one.times, step_s, recipe.stamp) for one in columns]
    rows = [_rows(one.times, first, step_s) for one, first in zip(columns, starts, strict=True)]
    whole = lay_grid(np.concatenate([seconds for seconds, _ in rows]), step_s // 60, "start")
    ends = np.cumsum([len(seconds) for seconds, _ in rows])
    slots = np.split(whole.slot, ends[:-1])
    parts = zip(columns, starts, rows, slots, strict=True)
    laid = [_laid(one, first, who, replace(whole, slot=slot)) for one, first, (_, who), slot in parts]
    return whole, laid


def _step_s(columns: Sequence[Timed]) -> int:
    steps = [one.times.step_s or finest_step_s(one.times.starts) for one in columns]
    known = [step for step in steps if step is not None]
    if not known:
        raise ReadRefused("One time alone tells no step; state step_min in the recipe.")
    step_s = math.gcd(*known)
    if step_s % 60:
        raise ReadRefused(f"The times come every {step_s} s; steps of whole minutes are read. Average them first.")
    return step_s


def _starts(times: Times, step_s: int, stamp: str) -> Seconds:
    return times.starts - step_s if times.ends is None and stamp == "end" else times.starts


def _rows(times: Times, starts: Seconds, step_s: int) -> tuple[Seconds, NDArray[np.int64]]:
    """(start of each row, number of its value): one row an instant, one row a step of an interval."""
    if times.ends is None:
        return starts, np.arange(len(starts))
    steps = (times.ends - times.starts) // step_s
    if (steps * step_s != times.ends - times.starts).any():
        raise ReadRefused(f"step_min: the intervals are no multiples of {step_s // 60} min; state a shorter step or none")
    if int(steps.sum()) > MAX_STEPS:
        raise ReadRefused(f"The intervals span {int(steps.sum()):,} steps of {step_s // 60} min; one of them has a wrong year.")
    who = np.repeat(np.arange(len(starts)), steps)
    within = np.arange(len(who)) - np.repeat(np.cumsum(steps) - steps, steps)
    return starts[who] + within * step_s, who


def _laid(column: Timed, starts: Seconds, who: NDArray[np.int64], grid: Grid) -> Laid:
    named = column.column
    values, flags, conflicts = place(grid, column.values[who], named.column)
    coarse = np.zeros(grid.steps, dtype=bool) if column.times.ends is not None else coarse_slots(grid, starts)
    series = Series(
        variable=named.variable,
        height_m=float(named.height_m),
        averaging_min=float(named.averaging_min),
        start=grid.start,
        step_min=grid.step_s // 60,
        values=values,
        flags=flag_coarse(flags, coarse),
        name=f"{named.column} [{column.member}]" if column.member else named.column,
        member=column.member,
    )
    return Laid(series, conflicts, grid.slot, coarse, _spread(grid, who))


def _spread(grid: Grid, who: NDArray[np.int64]) -> BoolArray:
    marked = np.zeros(grid.steps, dtype=bool)
    several = np.bincount(who, minlength=1)[who] > 1
    marked[grid.slot[several & (grid.slot >= 0)]] = True
    return marked


def all_slots(laid: Sequence[Laid]) -> Iterator[NDArray[np.int64]]:
    """The slots that some row or some coarse stretch accounts for."""
    for one in laid:
        yield one.slots
        yield np.flatnonzero(one.coarse)
