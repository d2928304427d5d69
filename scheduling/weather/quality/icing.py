"""Icing that may be on a sensor: cold, humid, and the sensor stands still or falls behind."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.quality.runs import (
    BLOWING,
    constant_runs,
    long_only,
    mean_of,
    resolution,
    rows_of,
    together,
    winds_beside,
)
from scheduling.weather.quality.still import calm_beside, usual_ratio
from scheduling.weather.quality.table import (
    COARSE_STEP,
    DEAD_WIND_MPS,
    ICING_BEHIND_H,
    ICING_BEHIND_SHARE,
    ICING_DEGC,
    ICING_FROZEN_H,
    ICING_FROZEN_STEPS,
    ICING_HUMIDITY_PCT,
    ICING_SAME,
    ICING_SPREAD_DEGC,
    ICING_WIND_MPS,
)
from scheduling.weather.series import BoolArray, FloatArray, Series


def iced(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: wind, gust or direction that freezes, or wind that falls behind its neighbour, where it is cold and humid.

    Without a temperature nothing is suspected. Without any humidity the air is taken for humid.
    """
    marked = np.zeros(len(one.values), dtype=bool)
    if one.variable not in ICING_SAME:
        return marked
    weather = icing_weather(one, others)
    if weather.any():
        marked |= _frozen(one, others, weather)
        if one.variable in BLOWING:
            marked |= _behind(one, winds_beside(one, others), weather)
    return marked


def icing_weather(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: cold and humid enough for ice, by the temperature nearest in height. Unknown is not cold."""
    beside = [two for two in others if together(one, two)]
    cold = _nearest(one, beside, "temperature")
    if cold is None:
        return np.zeros(len(one.values), dtype=bool)
    with np.errstate(invalid="ignore"):
        marked: BoolArray = (cold <= ICING_DEGC) & _humid(one, beside, cold)
    return marked


def _humid(one: Series, beside: Sequence[Series], temperature: FloatArray) -> BoolArray:
    humidity, dew = (_nearest(one, beside, name) for name in ("humidity", "dew_point"))
    with np.errstate(invalid="ignore"):
        if humidity is not None:
            return ~(humidity < ICING_HUMIDITY_PCT)
        if dew is not None:
            return ~(temperature - dew > ICING_SPREAD_DEGC)
    return np.ones(len(temperature), dtype=bool)


def _nearest(one: Series, beside: Sequence[Series], variable: str) -> FloatArray | None:
    """The lowest value of the series of a variable that are nearest in height: the order of columns must not matter."""
    found = [two for two in beside if two.variable == variable]
    if not found:
        return None
    least = min(abs(two.height_m - one.height_m) for two in found)
    nearest = [two.values for two in found if abs(two.height_m - one.height_m) == least]
    lowest: FloatArray = np.fmin.reduce(nearest)
    return lowest


def _frozen(one: Series, others: Sequence[Series], weather: BoolArray) -> BoolArray:
    marked = np.zeros(len(one.values), dtype=bool)
    if resolution(one.values) >= COARSE_STEP[one.variable]:
        return marked
    beside = winds_beside(one, others)
    still = np.where(weather, one.values, np.nan)
    for run in constant_runs(still, rows_of(one, ICING_FROZEN_H, least=ICING_FROZEN_STEPS), ICING_SAME[one.variable]):
        if one.variable == "direction":
            # A vane rests in a calm without being frozen.
            winds = [two for two in others if two.variable == "wind" and together(one, two)]
            marked[run] = not winds or any(mean_of(two.values[run]) > DEAD_WIND_MPS for two in winds)
        else:
            marked[run] = not calm_beside(beside, run)
    return marked


def _behind(one: Series, beside: Sequence[Series], weather: BoolArray) -> BoolArray:
    marked = np.zeros(len(one.values), dtype=bool)
    for two in beside:
        usual = usual_ratio(one.values, two.values, ICING_WIND_MPS)
        with np.errstate(invalid="ignore"):
            slow = (two.values > ICING_WIND_MPS) & (one.values < ICING_BEHIND_SHARE * usual * two.values)
        marked |= long_only(slow & weather, rows_of(one, ICING_BEHIND_H))
    return marked
