"""From the steps of a series to the slots of a plan, never inventing a value between two coarse steps."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from scheduling.weather.series import BoolArray, Flag, FloatArray, Series

#: A step up to this long says something about every slot inside it (an hourly mean); a longer one does not.
MAX_STEP_MIN = 60


def to_slots(
    series: Series,
    *,
    start: datetime,
    slot_min: int,
    slots: int,
    how: str = "max",
    max_step_min: int = MAX_STEP_MIN,
) -> Series:
    """The series on slots [start + i*slot_min, ...), i < slots.

    A slot takes the largest ("max", for upper limits), the smallest ("min", for lower ones) or the mean ("mean",
    for energy) of the values whose intervals touch it. One missing or flagged value makes the whole slot NaN with
    Flag.MISSING, so does the end of the data. A step longer than `max_step_min` is never stretched over slots: all
    become NaN with Flag.COARSE. Raises ValueError for a slot length or count below 1 or an unknown `how`.
    """
    if slot_min < 1 or slots < 1:
        raise ValueError("slot_min and slots: give whole numbers of 1 or more")
    if how not in ("max", "min", "mean"):
        raise ValueError(f"how: {how!r} is not known; choose max, min or mean")
    if series.step_min > max(max_step_min, slot_min):
        return _blank(series, start, slot_min, slots)
    values = _gather(series, start, slot_min, slots, how)
    flags = np.where(np.isnan(values), int(Flag.MISSING), 0).astype(np.uint16)
    return replace(series, start=start, step_min=slot_min, values=values, flags=flags)


def _blank(series: Series, start: datetime, slot_min: int, slots: int) -> Series:
    values = np.full(slots, np.nan)
    flags = np.full(slots, int(Flag.COARSE), dtype=np.uint16)
    return replace(series, start=start, step_min=slot_min, values=values, flags=flags)


def _gather(series: Series, start: datetime, slot_min: int, slots: int, how: str) -> FloatArray:
    offset_s = int((start - series.start) / timedelta(seconds=1))
    begins = offset_s + np.arange(slots, dtype=np.int64) * slot_min * 60
    step_s = series.step_min * 60
    first = begins // step_s
    last = -(-(begins + slot_min * 60) // step_s) - 1
    source = series.usable()
    join, total = _JOINS[how], np.full(slots, _BEGIN[how])
    for ahead in range(int((last - first).max()) + 1):
        index = first + ahead
        total = np.where(index <= last, join(total, _pick(source, index)), total)
    return total / (last - first + 1) if how == "mean" else total


_JOINS = {"max": np.maximum, "min": np.minimum, "mean": np.add}
_BEGIN = {"max": -np.inf, "min": np.inf, "mean": 0.0}


def _pick(source: FloatArray, index: np.ndarray) -> FloatArray:
    inside: BoolArray = (index >= 0) & (index < len(source))
    return np.where(inside, source[np.clip(index, 0, len(source) - 1)], np.nan)
