"""Values that cannot be beside their companion: a gust below its mean, or equal to it; a dew point above the temperature."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.quality.runs import constant_runs, resolution, rows_of, together
from scheduling.weather.quality.table import COARSE_STEP, DEAD_WIND_MPS, DEW_SLACK_DEGC, GUST_COPY_H, GUST_SHARE, GUST_SLACK_MPS
from scheduling.weather.series import BoolArray, FloatArray, Series


def impossible_gust(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: a gust below every mean wind of its height, or equal to it for hours while it blows.

    With several booms the lowest mean counts: one of them may stand in the shadow of the mast.
    """
    means = [two for two in others if two.variable == "wind" and two.height_m == one.height_m and together(one, two)]
    if one.variable != "gust" or not means:
        return np.zeros(len(one.values), dtype=bool)
    lowest: FloatArray = np.fmin.reduce([two.values for two in means])
    with np.errstate(invalid="ignore"):
        below = one.values < GUST_SHARE * lowest - GUST_SLACK_MPS
    marked: BoolArray = below | np.logical_or.reduce([_copied(one, two) for two in means])
    return marked


def _copied(one: Series, two: Series) -> BoolArray:
    marked = np.zeros(len(one.values), dtype=bool)
    if resolution(one.values) >= COARSE_STEP["gust"] or one.averaging_min >= two.averaging_min:
        return marked
    with np.errstate(invalid="ignore"):
        equal = np.where((one.values == two.values) & (two.values > DEAD_WIND_MPS), 1.0, np.nan)
    for run in constant_runs(equal, rows_of(one, GUST_COPY_H, least=6)):
        marked[run] = True
    return marked


def impossible_dew_point(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: a dew point above every temperature of its height."""
    near = [two for two in others if two.variable == "temperature" and two.height_m == one.height_m and together(one, two)]
    if one.variable != "dew_point" or not near:
        return np.zeros(len(one.values), dtype=bool)
    highest: FloatArray = np.fmax.reduce([two.values for two in near])
    with np.errstate(invalid="ignore"):
        marked: BoolArray = one.values > highest + DEW_SLACK_DEGC
    return marked
