"""Many forecasts as one record: what the newest forecast of the moment said of each hour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

import numpy as np

from scheduling.weather.series import Flag, Series
from scheduling.weather.slots import to_slots

STEP_MIN = 60


def as_issued(forecasts: Iterable[tuple[datetime, Series]], start: datetime, end: datetime) -> Series:
    """One hourly series over [start, end) from (issue time, series) of one variable and height, in any order.

    Each hour takes the mean that the forecast issued last before the hour gives it; an hour that none covers is MISSING.
    Steps longer than an hour say nothing about the hours in them. Raises ValueError without forecasts or hours.
    """
    ordered = sorted(forecasts, key=lambda pair: pair[0])
    hours = int((end - start).total_seconds() // 3600)
    if not ordered or hours < 1:
        raise ValueError("forecasts: there is none that covers the time asked for")
    values = np.full(hours, np.nan)
    for issued_at, series in ordered:
        said = to_slots(series, start=start, slot_min=STEP_MIN, slots=hours, how="mean").values
        ahead = np.arange(hours) >= (issued_at - start).total_seconds() / 3600.0
        values = np.where(ahead & np.isfinite(said), said, values)
    flags = np.where(np.isfinite(values), 0, int(Flag.MISSING)).astype(np.uint16)
    return replace(ordered[0][1], start=start, step_min=STEP_MIN, values=values, flags=flags, name="forecasts as issued")
