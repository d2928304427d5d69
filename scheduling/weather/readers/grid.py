"""Rows at any order of times onto one regular UTC grid: gaps by time, duplicates counted, conflicts kept
apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.report import Conflict, Gap, ReadRefused
from scheduling.weather.series import Flag, FlagArray, FloatArray

#: More steps than this in one series (95 years of 10 min) mean a wrong year somewhere.
MAX_STEPS = 5_000_000
#: Rows that miss the grid are left out up to this share of the file.
MAX_OFF_GRID = 0.01


@dataclass(frozen=True, eq=False)
class Grid:
    """Where each row goes. `slot` [rows]: index on the grid, -1 for a row off the grid."""

    start_s: int
    step_s: int
    steps: int
    slot: NDArray[np.int64]

    @property
    def start(self) -> datetime:
        """The first step's start, UTC."""
        return self.time(0)

    def time(self, index: int) -> datetime:
        """The start of step `index`, UTC."""
        return datetime.fromtimestamp(self.start_s + index * self.step_s, tz=UTC)


def lay_grid(seconds: NDArray[np.int64], step_min: int | None, stamp: str) -> Grid:
    """The grid of the rows' times. Stamps at the end of a step are moved to its start.

    Raises ReadRefused when the step cannot be told, too many rows miss the grid, or the span is absurd.
    """
    step_s = step_min * 60 if step_min is not None else _usual_step(np.unique(seconds))
    phases, votes = np.unique(seconds % step_s, return_counts=True)
    phase = int(phases[np.argmax(votes)])
    on_grid = seconds % step_s == phase
    if (~on_grid).mean() > MAX_OFF_GRID:
        raise ReadRefused(f"{int((~on_grid).sum())} rows do not lie on steps of {step_s // 60} min; state step_min in the recipe")
    start = int(seconds[on_grid].min())
    slot = np.where(on_grid, (seconds - start) // step_s, -1)
    steps = int(slot.max()) + 1
    if steps > MAX_STEPS:
        raise ReadRefused(f"The times span {steps:,} steps of {step_s // 60} min; one of them has a wrong year.")
    return Grid(start - (step_s if stamp == "end" else 0), step_s, steps, slot)


def _usual_step(unique: NDArray[np.int64]) -> int:
    if len(unique) < 2:
        raise ReadRefused("One time alone tells no step; state step_min in the recipe.")
    steps, counts = np.unique(np.diff(unique), return_counts=True)
    step_s = int(steps[np.argmax(counts)])
    if step_s % 60:
        raise ReadRefused(f"The rows come every {step_s} s; steps of whole minutes are read. Average them first.")
    return step_s


def place(grid: Grid, values: FloatArray, column: str) -> tuple[FloatArray, FlagArray, tuple[Conflict, ...]]:
    """Values [rows] onto the grid: (values [steps], flags [steps], conflicts).

    Equal repeats count once. Different values for one time: NaN and CONFLICT. No row: GAP. A row without
    value: MISSING.
    """
    rows = np.flatnonzero(grid.slot >= 0)
    known = rows[np.isfinite(values[rows])]
    low = np.full(grid.steps, np.inf)
    high = np.full(grid.steps, -np.inf)
    np.minimum.at(low, grid.slot[known], values[known])
    np.maximum.at(high, grid.slot[known], values[known])
    flags = np.full(grid.steps, int(Flag.GAP), dtype=np.uint16)
    flags[grid.slot[rows]] = int(Flag.MISSING)
    flags[grid.slot[known]] = 0
    clash = (flags == 0) & (low != high)
    flags[clash] = int(Flag.CONFLICT)
    placed = np.where(flags == 0, low, np.nan)
    return placed, flags, _conflicts(grid, values, column, known[clash[grid.slot[known]]])


def _conflicts(grid: Grid, values: FloatArray, column: str, rows: NDArray[np.intp]) -> tuple[Conflict, ...]:
    ordered = rows[np.argsort(grid.slot[rows], kind="stable")]
    slots, firsts = np.unique(grid.slot[ordered], return_index=True)
    groups = np.split(values[ordered], firsts[1:])
    return tuple(
        Conflict(column, grid.time(int(slot)), tuple(map(float, group))) for slot, group in zip(slots, groups, strict=False)
    )


def gaps(grid: Grid) -> tuple[Gap, ...]:
    """The stretches of the grid without any row."""
    seen = np.unique(grid.slot[grid.slot >= 0])
    ends = np.flatnonzero(np.diff(seen) > 1)
    found = ((int(seen[i]) + 1, int(seen[i + 1])) for i in ends)
    return tuple(Gap(grid.time(first), grid.time(past), past - first) for first, past in found)


def duplicates(grid: Grid) -> int:
    """Rows whose time had come before."""
    on_grid = grid.slot[grid.slot >= 0]
    return len(on_grid) - len(np.unique(on_grid))
