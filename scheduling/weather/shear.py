"""A site's own wind profile, learnt from wind at two heights: one exponent, and one for each hour of the day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduling.weather.height import (
    DEFAULT_EXPONENT,
    SHEAR_MIN_MPS,
    SHEAR_RANGE,
    SHEAR_RATIO,
    alike,
    same_steps,
    shear_exponent,
)
from scheduling.weather.series import BoolArray, FloatArray, Series, preferred

HOURS_A_DAY = 24
#: With this many hours of data a site's own exponent counts half, the default the other half ...
SITE_TRUST_H = 240.0
#: ... and with this many of one hour of the day that hour's counts half, the site's the other half. Both: common practice,
#: no source.
HOUR_TRUST_H = 10.0
#: The lower height of a pair is not below this share of the upper one where there is a choice: nearer the ground it is
#: another profile.
LOWEST_SHARE = 1.0 / 3.0


@dataclass(frozen=True)
class FittedExponents:
    """Exponents of a site.

    exponent        of each hour of the day, 24, in UTC: the profile follows the sun, which knows no summer time
    hours           hours of data that each rests on
    default_share   how much of each is the default for want of data, 0..1
    site            one exponent for all hours, site_hours of data and site_default_share likewise
    low_m, high_m   the two heights
    """

    exponent: tuple[float, ...]
    hours: tuple[float, ...]
    default_share: tuple[float, ...]
    site: float
    site_hours: float
    site_default_share: float
    low_m: float
    high_m: float

    def on(self, series: Series) -> FloatArray:
        """float64 [n]: the exponent at the middle of each step of a series, for `to_hub`."""
        table: FloatArray = np.array(self.exponent)[hours_of_day(series)]
        return table


def fitted_exponents(one: Series, two: Series) -> FittedExponents:
    """Fit exponents from wind at two heights on one grid, in any order.

    Each is the exponent that carries the mean of the lower wind to the mean of the upper one, over the steps in which both
    blow at 3 m/s or more, so that what it predicts is right on average. (The median of the steps' exponents, held out by
    month, says 0.14 m/s too little at 80 m from 40 m: light winds and calm nights have the steep profiles.) Few data are
    drawn towards the default 0.2, an hour's towards the site's. Raises ValueError for equal heights, differing grids, or
    no such step.
    """
    low, high = sorted((one, two), key=lambda item: item.height_m)
    below, above, blowing = _blowing(low, high)
    if not blowing.any():
        raise ValueError(f"{one.name} and {two.name}: no step has both heights above 3 m/s; give an exponent instead")
    own, count = _fit(below, above, blowing, low, high), _hours(blowing, low)
    weight = count / (count + SITE_TRUST_H)
    site = weight * own + (1.0 - weight) * DEFAULT_EXPONENT
    hour = hours_of_day(low)
    table, hours, shares = [], [], []
    for n in range(HOURS_A_DAY):
        here = blowing & (hour == n)
        known = _hours(here, low)
        trust = known / (known + HOUR_TRUST_H)
        table.append(trust * _fit(below, above, here, low, high) + (1.0 - trust) * site if known else site)
        hours.append(known)
        shares.append((1.0 - trust) * (1.0 - weight))
    return FittedExponents(tuple(table), tuple(hours), tuple(shares), site, count, 1.0 - weight, low.height_m, high.height_m)


def shear_pair(series: Sequence[Series]) -> tuple[Series, Series]:
    """(low, high): the two winds that tell a profile best, booms of one height standing in for each other.

    The highest, and of those clearly below it the lowest that is not too near the ground. Raises ValueError without two.
    """
    winds = [one for one in series if one.variable == "wind"]
    top = max(winds, key=lambda one: one.height_m, default=None)
    below = [] if top is None else [one for one in winds if one.height_m * SHEAR_RATIO <= top.height_m]
    if top is None or not below:
        raise ValueError("height: a wind profile needs wind at two heights, one at least 1.25 times the other")
    far = [one for one in below if one.height_m >= LOWEST_SHARE * top.height_m]
    low = min(far, key=lambda one: one.height_m) if far else max(below, key=lambda one: one.height_m)
    return tuple(preferred([one for one in winds if alike(one, base)]) for base in (low, top))  # type: ignore[return-value]


def hours_of_day(series: Series) -> np.ndarray:
    """int [n]: the UTC hour in which the middle of each step lies."""
    minutes = (series.times() + np.timedelta64(series.step_min // 2, "m")).astype(np.int64)
    hours: np.ndarray = minutes // 60 % HOURS_A_DAY
    return hours


def _blowing(low: Series, high: Series) -> tuple[FloatArray, FloatArray, BoolArray]:
    same_steps(low, high)
    below, above = low.usable(), high.usable()
    with np.errstate(invalid="ignore"):
        return below, above, (below >= SHEAR_MIN_MPS) & (above >= SHEAR_MIN_MPS)


def _fit(below: FloatArray, above: FloatArray, where: BoolArray, low: Series, high: Series) -> float:
    if not where.any():
        return DEFAULT_EXPONENT
    raw = shear_exponent(float(below[where].mean()), float(above[where].mean()), low.height_m, high.height_m)
    return float(np.clip(raw, *SHEAR_RANGE))


def _hours(where: BoolArray, series: Series) -> float:
    return float(where.sum()) * series.step_min / 60.0
