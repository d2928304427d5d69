"""Runs, resolution and neighbours: what the rules are made of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from scheduling.weather.quality.table import NEAR_HEIGHTS
from scheduling.weather.series import BoolArray, FloatArray, Series, same_grid

BLOWING = ("wind", "gust")


def rows_of(series: Series, hours: float, least: int = 3) -> int:
    """How many steps make so many hours; never fewer than `least`."""
    return max(least, round(hours * 60.0 / series.step_min))


def runs_of(marked: BoolArray, least: int) -> Iterator[slice]:
    """Each unbroken run of True of at least `least` steps."""
    edges = np.flatnonzero(np.diff(np.r_[0, marked, 0].astype(np.int8)))
    starts, ends = edges[::2], edges[1::2]
    long = ends - starts >= least
    for first, past in zip(starts[long].tolist(), ends[long].tolist(), strict=True):
        yield slice(first, past)


def long_only(marked: BoolArray, least: int) -> BoolArray:
    """The same marks without runs shorter than `least`."""
    kept = np.zeros(len(marked), dtype=bool)
    for run in runs_of(marked, least):
        kept[run] = True
    return kept


def constant_runs(values: FloatArray, rows: int, within: float = 0.0, hole: int = 0) -> Iterator[slice]:
    """Each run of `rows` or more values, each within `within` of the one before.

    Missing values end a run, unless there are no more than `hole` in a row and the same value stands on both sides.
    """
    filled = _bridged(values, hole) if hole else values
    with np.errstate(invalid="ignore"):
        same = np.abs(np.diff(filled)) <= within
    for run in runs_of(same, max(1, rows - 1)):
        yield slice(run.start, run.stop + 1)


def _bridged(values: FloatArray, hole: int) -> FloatArray:
    known = np.flatnonzero(np.isfinite(values))
    short = (np.diff(known) > 1) & (np.diff(known) <= hole + 1) & (np.diff(values[known]) == 0.0)
    filled = values.copy()
    for before, after in zip(known[:-1][short].tolist(), known[1:][short].tolist(), strict=True):
        filled[before + 1 : after] = values[before]
    return filled


def resolution(values: FloatArray) -> float:
    """The step in which the values are written down: a low quantile of the gaps between distinct ones, 0 with fewer than two.

    A quantile, because a few values off the scale (a fill-in, a conversion) must not hide that the rest is in whole m/s.
    """
    gaps = np.diff(np.unique(np.round(values[np.isfinite(values)], 4)))
    return float(np.quantile(gaps, 0.1)) if len(gaps) else 0.0


def winds_beside(one: Series, others: Sequence[Series]) -> list[Series]:
    """Wind and gust of comparable height on the same grid and of the same member."""
    return [two for two in others if two.variable in BLOWING and two is not one and _near(one, two)]


def alike(one: Series, others: Sequence[Series]) -> list[Series]:
    """Others of the same variable on the same grid and of the same member, whatever their height."""
    return [two for two in others if two is not one and two.variable == one.variable and together(one, two)]


def together(one: Series, two: Series) -> bool:
    """Whether they describe the same moments of the same course of the weather."""
    return one.member == two.member and same_grid(one, two)


def _near(one: Series, two: Series) -> bool:
    low, high = sorted((one.height_m, two.height_m))
    return together(one, two) and low > 0 and high <= NEAR_HEIGHTS * low


def mean_of(values: FloatArray) -> float:
    """Mean of what is known; NaN where nothing is."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


def spread_of(values: FloatArray) -> float:
    """Largest less smallest of what is known; 0 where nothing is."""
    known = values[np.isfinite(values)]
    return float(np.ptp(known)) if len(known) else 0.0
