"""Sensors that stand still: stuck at a value, or dead at 0.0."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from scheduling.weather.quality.runs import (
    BLOWING,
    constant_runs,
    mean_of,
    resolution,
    rows_of,
    spread_of,
    together,
    winds_beside,
)
from scheduling.weather.quality.table import (
    CALM_MPS,
    COARSE_PATIENCE,
    COARSE_STEP,
    DEAD_ALONE_H,
    DEAD_BESIDE_H,
    DEAD_WIND_MPS,
    HOLE_H,
    OFFSET_MPS,
    RULES,
    STEEP_SHEAR,
    STUCK_BESIDE_H,
    STUCK_MOVE_MPS,
    VANE_STUCK_H,
)
from scheduling.weather.series import BoolArray, FloatArray, Series


def stuck(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: the same value for longer than a living sensor would say it."""
    if one.variable in BLOWING:
        return _stuck_wind(one, others)
    hours = RULES[one.variable].stuck_h
    marked = np.zeros(len(one.values), dtype=bool)
    for run in _constant(one, hours) if hours is not None else ():
        marked[run] = True
    return marked | _stuck_vane(one, others) if one.variable == "direction" else marked


def dead(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: exactly 0.0 for DEAD_ALONE_H, or for DEAD_BESIDE_H while a neighbour blows.

    A living neighbour that is calm too bears the calm out, however long.
    """
    marked = np.zeros(len(one.values), dtype=bool)
    if one.variable not in BLOWING:
        return marked
    beside = winds_beside(one, others)
    alone = rows_of(one, DEAD_ALONE_H * _patience(one))
    for run in _constant(one, DEAD_BESIDE_H):
        if one.values[run.start] == 0.0:
            long = run.stop - run.start >= alone and not calm_beside(beside, run)
            marked[run] = long or any(blows(one, two, run) for two in beside)
    return marked


def _stuck_wind(one: Series, others: Sequence[Series]) -> BoolArray:
    marked = np.zeros(len(one.values), dtype=bool)
    beside = winds_beside(one, others)
    patience = _patience(one)
    fine = patience == 1.0
    hours = (RULES[one.variable].stuck_h or 0.0) * patience
    long = rows_of(one, hours)
    for run in _constant(one, STUCK_BESIDE_H, least=4) if fine else _constant(one, hours):
        low = one.values[run.start] <= OFFSET_MPS
        calm = low and calm_beside(beside, run)
        told = fine and any(_moves(one, two, run) for two in beside)
        marked[run] = not calm and (told or run.stop - run.start >= long)
    return marked


def _constant(one: Series, hours: float, least: int = 3) -> Iterator[slice]:
    """Runs of one value for so many hours; a short hole in them does not bring a sensor back to life."""
    return constant_runs(one.values, rows_of(one, hours, least), hole=round(HOLE_H * 60.0 / one.step_min))


def _patience(one: Series) -> float:
    """How many times longer a record in coarse steps may say the same: calm nights are 0 kn from dusk to dawn."""
    step = resolution(one.values)
    coarse = COARSE_STEP[one.variable]
    return 1.0 if step < coarse else max(COARSE_PATIENCE, step / coarse)


def _moves(one: Series, two: Series, run: slice) -> bool:
    """Whether the neighbour contradicts a constant value: it moves, or blows while this one stands at its offset."""
    if one.values[run.start] <= OFFSET_MPS:
        return blows(one, two, run)
    return one.variable == two.variable and spread_of(two.values[run]) > STUCK_MOVE_MPS


def _stuck_vane(one: Series, others: Sequence[Series]) -> BoolArray:
    """A vane that says the same to the last digit for hours while it blows."""
    marked = np.zeros(len(one.values), dtype=bool)
    winds = [two for two in others if two.variable == "wind" and together(one, two)]
    if resolution(one.values) < COARSE_STEP["direction"]:
        for run in _constant(one, VANE_STUCK_H, least=6):
            marked[run] = any(mean_of(two.values[run]) > DEAD_WIND_MPS for two in winds)
    return marked


def blows(one: Series, two: Series, run: slice) -> bool:
    """Whether the neighbour averages so much that this height cannot be calm."""
    least: float = DEAD_WIND_MPS * max(two.height_m / one.height_m, 1.0) ** STEEP_SHEAR
    return mean_of(two.values[run]) > least


def calm_beside(beside: Sequence[Series], run: slice) -> bool:
    """Whether a neighbour that lives (it moves) is calm as well, and none blows."""
    means = [(mean_of(two.values[run]), spread_of(two.values[run])) for two in beside if two.variable == "wind"]
    blowing = any(mean > DEAD_WIND_MPS for mean, _ in means)
    return not blowing and any(0.0 < mean < CALM_MPS and spread > 0.0 for mean, spread in means)


def usual_ratio(one: FloatArray, two: FloatArray, above: float) -> float:
    """Median of one/two where two is above `above`; NaN where there is nothing to go by."""
    known = np.isfinite(one) & np.isfinite(two) & (np.nan_to_num(two) > above) & (np.nan_to_num(one) > 0.0)
    return float(np.median(one[known] / two[known])) if known.any() else float("nan")
