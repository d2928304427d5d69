"""Values off by a factor: a unit that slipped."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.height import DEFAULT_EXPONENT
from scheduling.weather.quality.alone import outside
from scheduling.weather.quality.runs import BLOWING, alike, rows_of, runs_of, winds_beside
from scheduling.weather.quality.table import (
    FAHRENHEIT_FAR_DEGC,
    FAHRENHEIT_NEAR_DEGC,
    PRESSURE_SHARE,
    SCALE_H,
    SCALE_LEAP,
    SCALE_LEAST_MPS,
    SCALE_SHARE,
    SCALE_STEPS,
    UNIT_FACTORS,
    USUAL_GUST,
    WHOLE_FACTOR,
)
from scheduling.weather.series import BoolArray, FloatArray, Series


def scaled(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: pressure far from the rest of its own series, wind off its neighbours by the factor of a unit, or a
    temperature that is another series' in Fahrenheit.
    """
    if one.variable == "pressure":
        return _off_the_median(one, others)
    if one.variable in BLOWING:
        return _off_by_a_unit(one, winds_beside(one, others))
    if one.variable == "temperature":
        return _in_fahrenheit(one, alike(one, others))
    return np.zeros(len(one.values), dtype=bool)


def _off_the_median(one: Series, others: Sequence[Series]) -> BoolArray:
    possible = one.values[np.isfinite(one.values) & ~outside(one, others)]
    if not len(possible):
        return np.zeros(len(one.values), dtype=bool)
    with np.errstate(invalid="ignore"):
        marked: BoolArray = np.abs(one.values / np.median(possible) - 1.0) > PRESSURE_SHARE
    return marked


def _in_fahrenheit(one: Series, beside: Sequence[Series]) -> BoolArray:
    marked = np.zeros(len(one.values), dtype=bool)
    for two in beside:
        with np.errstate(invalid="ignore"):
            near = np.abs(one.values - (two.values * 1.8 + 32.0)) < FAHRENHEIT_NEAR_DEGC
            hit = near & (one.values - two.values > FAHRENHEIT_FAR_DEGC)
        marked |= hit & _mostly(hit, rows_of(one, SCALE_H, least=6))
    return marked


def _off_by_a_unit(one: Series, beside: Sequence[Series]) -> BoolArray:
    """More than half of the neighbours must say so. A single one says so of both: the one that leapt into the stretch is it."""
    if not beside:
        return np.zeros(len(one.values), dtype=bool)
    told = [_against(one, two) for two in beside]
    if len(told) == 1:
        return _leapt(one.values, beside[0].values, told[0])
    marked: BoolArray = 2 * np.sum(told, axis=0) > len(told)
    return marked


def _against(one: Series, two: Series) -> BoolArray:
    """Stretches of SCALE_H or more in which the ratio to the neighbour is its usual one times the factor of a unit."""
    with np.errstate(invalid="ignore", divide="ignore"):
        known = (one.values > SCALE_LEAST_MPS) & (two.values > SCALE_LEAST_MPS)
        ratio = np.log(np.where(known, one.values, np.nan) / np.where(known, two.values, np.nan))
    marked = np.zeros(len(ratio), dtype=bool)
    if known.any():
        off = ratio - _usual(float(np.nanmedian(ratio)), one, two)
        for factor in UNIT_FACTORS:
            for target in (np.log(factor), -np.log(factor)):
                marked |= _stretches(off, float(target), rows_of(one, SCALE_H, least=6))
    return marked


def _stretches(off: FloatArray, target: float, rows: int) -> BoolArray:
    """Where the ratio is off by a factor: narrowly for `rows` somewhere, and from there as far as it is nearer to the factor
    than to 1. Steps too calm to tell neither carry a stretch nor end it.
    """
    with np.errstate(invalid="ignore"):
        near = np.abs(off - target)
        core, wide = _mostly(near < SCALE_SHARE, rows), near < abs(target) / 2.0
    marked = np.zeros(len(off), dtype=bool)
    for run in runs_of(_mostly(wide | np.isnan(off), rows), 1) if core.any() else ():
        if core[run].any():
            told = run.start + np.flatnonzero(wide[run])
            marked[told[0] : told[-1] + 1] = True
    return marked


def _usual(median: float, one: Series, two: Series) -> float:
    """The logarithm of the usual ratio: the median, unless most of one record is in km/h, which it then must not hide."""
    gusts = (one.variable == "gust") - (two.variable == "gust")
    expected = DEFAULT_EXPONENT * np.log(one.height_m / two.height_m) + gusts * np.log(USUAL_GUST)
    if abs(median - expected) <= np.log(WHOLE_FACTOR):
        return median
    return float(median - np.sign(median - expected) * np.log(UNIT_FACTORS[0]))


def _mostly(hit: BoolArray, rows: int) -> BoolArray:
    """Steps inside any stretch of `rows` of which SCALE_STEPS are hit."""
    marked = np.zeros(len(hit), dtype=bool)
    if len(hit) >= rows:
        total = np.r_[0, np.cumsum(hit)]
        full = total[rows:] - total[:-rows] >= SCALE_STEPS * rows
        cover = np.cumsum(np.r_[full, np.zeros(rows, dtype=bool)].astype(np.int64) - np.r_[np.zeros(rows, dtype=bool), full])
        marked = cover[:-1] > 0
    return marked


def _leapt(one: FloatArray, two: FloatArray, told: BoolArray) -> BoolArray:
    """Of two that differ by a factor, the one that leapt at the edges of the stretch; both where neither clearly did."""
    marked = told.copy()
    for run in runs_of(told, 1):
        edges = [(at - 1, at) for at in (run.start, run.stop) if 0 < at < len(told)]
        own, other = _leaps(one, edges), _leaps(two, edges)
        if other - own > SCALE_LEAP:
            marked[run] = False
    return marked


def _leaps(values: FloatArray, edges: list[tuple[int, int]]) -> float:
    with np.errstate(invalid="ignore", divide="ignore"):
        steps = [abs(float(np.log(values[after] / values[before]))) for before, after in edges]
    known = [step for step in steps if np.isfinite(step)]
    return sum(known) if known else float("nan")
