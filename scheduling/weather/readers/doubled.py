"""Hours that came twice: a clock set back without a word, or converted wrongly to offsets."""

from __future__ import annotations

import numpy as np

from scheduling.weather.quality.runs import runs_of
from scheduling.weather.readers.grid import Grid
from scheduling.weather.readers.stamps import Seconds, Stamps
from scheduling.weather.series import BoolArray

_HOUR_S = 3600


def doubled_hours(grid: Grid, stamps: Stamps) -> BoolArray:
    """bool [steps]: steps of a stretch of exactly one hour that came more than once.

    With steps of an hour a repeat alone says little; there it must also stand beside a change of the offset.
    """
    seen = np.bincount(grid.slot[grid.slot >= 0], minlength=grid.steps)
    changes = _offset_changes(stamps)
    marked = np.zeros(grid.steps, dtype=bool)
    for run in runs_of(seen > 1, 1):
        start = grid.start_s + run.start * grid.step_s
        beside = bool((np.abs(changes - start) <= 2 * _HOUR_S).any())
        if (run.stop - run.start) * grid.step_s == _HOUR_S and (grid.step_s < _HOUR_S or beside):
            marked[run] = True
    return marked


def _offset_changes(stamps: Stamps) -> Seconds:
    """Seconds UTC at which the offset in the file changes."""
    order = np.argsort(stamps.utc_s, kind="stable")
    offset = (stamps.local_s - stamps.utc_s)[order]
    changes: Seconds = stamps.utc_s[order][1:][np.diff(offset) != 0]
    return changes
