"""How long a forecast stays off in the same direction."""

from __future__ import annotations

from itertools import product

import numpy as np

from scheduling.weather.error.model import SMOOTH
from scheduling.weather.series import FloatArray

#: Hours apart at which errors are compared. Stays last hours: beyond a day the memory no longer matters to them.
LAGS_H = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 18.0, 24.0)
QUICK_H = (0.5, 1.0, 2.0, 3.0, 5.0, 8.0)
MEMORY_H = (4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 90.0)
#: So many pairs of hours tell a correlation.
ENOUGH = 200


def fit_memory(errors: FloatArray, lead_h: FloatArray, course: np.ndarray) -> tuple[float, float, float, bool]:
    """(quick share, quick_h, memory_h, smooth) of normal errors [n] at leads [n] of courses [n] (sorted by course and lead).

    The correlation at each lag is held against that of two parts that fall by exp(-x), or where they are smooth by
    (1 + x) exp(-x); short lags weigh more. Where there are too few pairs for any lag: no quick part and 10 h.
    """
    known = [(lag, found) for lag in LAGS_H for found in [_correlation(errors, lead_h, course, lag)] if np.isfinite(found)]
    if not known:
        return 0.0, 1.0, 10.0, False
    lags, rho = np.array([lag for lag, _ in known]), np.array([found for _, found in known])
    kinds = [kind for kind in product(QUICK_H, MEMORY_H, (False, True)) if kind[0] < kind[1] / 2]
    return min((_fit(lags, rho, *kind) for kind in kinds), key=lambda one: one[0])[1:]


def _fit(
    lags: FloatArray, rho: FloatArray, quick_h: float, memory_h: float, smooth: bool
) -> tuple[float, float, float, float, bool]:
    """(misfit, best share, quick_h, memory_h, smooth) for given memories."""
    weight = 1.0 / (2.0 + lags)
    slow, quick = (_falling(lags, hours, smooth) for hours in (memory_h, quick_h))
    apart = quick - slow
    share = float(np.clip((weight * apart * (rho - slow)).sum() / (weight * apart * apart).sum(), 0.0, 0.9))
    misfit = float((weight * (rho - slow - share * apart) ** 2).sum())
    return misfit, share, quick_h, memory_h, smooth


def _falling(lags: FloatArray, memory_h: float, smooth: bool) -> FloatArray:
    x = lags / memory_h * (SMOOTH if smooth else 1.0)
    fallen: FloatArray = np.exp(-x) * (1.0 + x if smooth else 1.0)
    return fallen


def _correlation(errors: FloatArray, lead_h: FloatArray, course: np.ndarray, lag_h: float) -> float:
    """Of errors `lag_h` apart within a course; NaN with too few. Large errors are cut at 3 spreads."""
    key = course * 1e5 + np.round(lead_h, 3)
    later = np.searchsorted(key, key + lag_h - 1e-3)
    inside = np.minimum(later, len(key) - 1)
    there = np.abs(key[inside] - key - lag_h) < 2e-3
    if there.sum() < ENOUGH:
        return float("nan")
    one, two = (np.clip(values, -3.0, 3.0) for values in (errors[there], errors[inside[there]]))
    return float((one * two).mean() / np.sqrt((one * one).mean() * (two * two).mean()))
