"""Forecasts whose steps grow longer towards their end: the finest step is the grid, the coarse stretch is flagged."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.grid import Grid
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.series import BoolArray, Flag, FlagArray

Seconds = NDArray[np.int64]
#: A step counts as the file's finest only when at least this share of all steps is so short: a stray row makes no grid.
MIN_SHARE = 0.05


def finest_step_s(seconds: Seconds) -> int | None:
    """The shortest step, in seconds, that is no accident; None when there is only one time.

    Raises ReadRefused when it is no whole number of minutes.
    """
    unique = np.unique(seconds)
    if len(unique) < 2:
        return None
    steps, counts = np.unique(np.diff(unique), return_counts=True)
    step_s = int(steps[counts >= MIN_SHARE * counts.sum()].min(initial=int(steps[np.argmax(counts)])))
    if step_s % 60:
        raise ReadRefused(f"The values come every {step_s} s; steps of whole minutes are read. Average them first.")
    return step_s


def coarse_slots(grid: Grid, seconds: Seconds) -> BoolArray:
    """bool [steps]: inside a stretch where `seconds` (starts, UTC) come at equal steps longer than the grid's.

    Two equal long steps in a row make a stretch; one alone is a gap. The value at the start of a long step
    stands for more than its slot, so its slot belongs to the stretch.
    """
    marked = np.zeros(grid.steps, dtype=bool)
    unique = np.unique(seconds)
    steps = np.diff(unique)
    if len(steps) == 0:
        return marked
    same = steps[1:] == steps[:-1]
    repeated = np.r_[False, same] | np.r_[same, False]
    long = (steps > grid.step_s) & repeated
    first = np.clip((unique - grid.start_s) // grid.step_s, 0, grid.steps)
    for at in np.flatnonzero(long):
        marked[first[at] : first[at + 1]] = True
    if long[-1]:
        marked[first[-1] :] = True
    return marked


def flag_coarse(flags: FlagArray, coarse: BoolArray) -> FlagArray:
    """Flags with COARSE over the stretch: beside what else is said of a value, in place of GAP where there is none."""
    changed = flags.copy()
    changed[coarse] = (changed[coarse] & ~np.uint16(Flag.GAP)) | np.uint16(Flag.COARSE)
    return changed
