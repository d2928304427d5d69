"""What a series shows by itself: values that cannot be, spikes, and jumps that stay."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.quality.runs import alike, rows_of
from scheduling.weather.quality.table import JUMP_HOLD_H, JUMP_STEP_MIN, RULES
from scheduling.weather.series import BoolArray, FloatArray, Series


def outside(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: outside what the variable can be."""
    rule = RULES[one.variable]
    with np.errstate(invalid="ignore"):
        marked: BoolArray = (one.values < rule.low) | (one.values > rule.high)
    return marked


def spiked(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: up and down again, or down and up, within one step."""
    by = RULES[one.variable].spike
    return np.zeros(len(one.values), dtype=bool) if by is None else spikes(one.values, by)


def spikes(values: FloatArray, by: float) -> BoolArray:
    """bool [n]: more than `by` above both neighbours, or below both; the ends and values beside NaN are never
    marked.
    """
    marked = np.zeros(len(values), dtype=bool)
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    with np.errstate(invalid="ignore"):
        marked[1:-1] = (np.minimum(before, after) > by) | (np.maximum(before, after) < -by)
    return marked


def jumped(one: Series, others: Sequence[Series]) -> BoolArray:
    """bool [n]: what follows a step larger than the variable can do in that time.

    From the step on until the values are half way back, for JUMP_HOLD_H at most: what stays that long is a level.
    A step that another series of the same variable makes too is weather.
    """
    marked = np.zeros(len(one.values), dtype=bool)
    by = RULES[one.variable].jump
    if by is None or one.step_min > JUMP_STEP_MIN:
        return marked
    lone = ~spiked(one, others)
    steps = np.where(lone[1:] & lone[:-1], np.diff(one.values), np.nan)
    with np.errstate(invalid="ignore"):
        found = np.flatnonzero(np.abs(steps) > by)
    hold, ended = rows_of(one, JUMP_HOLD_H), -1
    for at in found.tolist():
        # The way back from what was flagged is no jump of its own.
        if at + 1 != ended and not any(_shared(two.values, at, steps[at]) for two in alike(one, others)):
            landed = one.values[at + 1 : at + 1 + hold]
            back = np.flatnonzero(np.abs(landed - one.values[at]) < abs(steps[at]) / 2)
            ended = at + 1 + (int(back[0]) if len(back) else hold)
            marked[at + 1 : ended] = True
    return marked


def _shared(other: FloatArray, at: int, step: float) -> bool:
    """Whether the other series goes at least half as far in the same direction, one step earlier or later at most."""
    around = other[max(0, at - 1) : at + 3]
    moved = np.diff(around[np.isfinite(around)])
    return bool((moved * np.sign(step) > abs(step) / 2).any())
