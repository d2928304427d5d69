"""Named quality rules. They only ever flag: a flagged value keeps its number and opens no window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduling.weather.series import BoolArray, Flag, FloatArray, Series, same_grid


@dataclass(frozen=True)
class Rule:
    """Bounds of one variable in its kept unit; common practice, no source.

    low, high       outside: RANGE
    spike           higher or lower than both neighbours by more than this: SPIKE
    stuck_h         the same value for this many hours or longer: STUCK (None: the variable may well stand
                    still)
    """

    low: float
    high: float
    spike: float | None = None
    stuck_h: float | None = None


RULES: dict[str, Rule] = {
    "wind": Rule(0.0, 75.0, spike=15.0, stuck_h=6.0),
    "gust": Rule(0.0, 110.0, spike=30.0, stuck_h=6.0),
    "direction": Rule(0.0, 360.0, stuck_h=24.0),
    "temperature": Rule(-60.0, 60.0, spike=15.0, stuck_h=24.0),
    "dew_point": Rule(-80.0, 40.0, spike=15.0, stuck_h=24.0),
    "pressure": Rule(50_000.0, 108_500.0, spike=2_000.0, stuck_h=72.0),
    "humidity": Rule(0.0, 105.0),
    "rain": Rule(0.0, 500.0),
    "visibility": Rule(0.0, 200_000.0),
    "lightning_distance": Rule(0.0, 1_000_000.0),
    "wave_height": Rule(0.0, 30.0, spike=8.0, stuck_h=24.0),
    "wave_period": Rule(0.0, 40.0),
}
#: An exact 0.0 this long, in hours, is a dead sensor even without a neighbour ...
DEAD_ALONE_H = 6.0
#: ... and this long while a neighbour of the same kind averages more than DEAD_WIND_MPS.
DEAD_BESIDE_H = 1.0
DEAD_WIND_MPS = 3.0


def check(series: Sequence[Series]) -> tuple[Series, ...]:
    """The same series with flags of every rule added; series of one kind serve each other as neighbours."""
    return tuple(_checked(one, [two for two in series if _neighbours(one, two)]) for one in series)


def _checked(series: Series, neighbours: list[Series]) -> Series:
    rule = RULES[series.variable]
    flags = series.flags.copy()
    values = series.values
    with np.errstate(invalid="ignore"):
        flags[(values < rule.low) | (values > rule.high)] |= int(Flag.RANGE)
    if rule.spike is not None:
        flags[spikes(values, rule.spike)] |= int(Flag.SPIKE)
    if rule.stuck_h is not None:
        flags[constant(values, _rows(series, rule.stuck_h))] |= int(Flag.STUCK)
    if series.variable in ("wind", "gust"):
        flags[_dead(series, neighbours)] |= int(Flag.DEAD)
    return replace(series, flags=flags)


def constant(values: FloatArray, rows: int) -> BoolArray:
    """bool [n]: inside a run of `rows` or more equal values; NaN ends a run."""
    return _long_runs(values, rows)[0]


def spikes(values: FloatArray, by: float) -> BoolArray:
    """bool [n]: more than `by` above both neighbours, or below both; the ends and values beside NaN are never
    marked.
    """
    marked = np.zeros(len(values), dtype=bool)
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    with np.errstate(invalid="ignore"):
        marked[1:-1] = (np.minimum(before, after) > by) | (np.maximum(before, after) < -by)
    return marked


def _dead(series: Series, neighbours: list[Series]) -> BoolArray:
    values = series.values
    alone, _ = _long_runs(values, _rows(series, DEAD_ALONE_H))
    dead: BoolArray = alone & (values == 0.0)
    _, runs = _long_runs(values, _rows(series, DEAD_BESIDE_H))
    for first, length in runs:
        here = slice(first, first + length)
        if values[first] == 0.0 and any(_blows(other, here) for other in neighbours):
            dead[here] = True
    return dead


def _blows(other: Series, here: slice) -> bool:
    known = other.values[here][np.isfinite(other.values[here])]
    return len(known) > 0 and float(known.mean()) > DEAD_WIND_MPS


def _long_runs(values: FloatArray, rows: int) -> tuple[BoolArray, list[tuple[int, int]]]:
    """Mark runs of at least `rows` equal values; also (first, length) of each.

    NaN differs from everything.
    """
    if len(values) == 0:
        return np.zeros(0, dtype=bool), []
    starts = np.flatnonzero(np.r_[True, values[1:] != values[:-1]])
    lengths = np.diff(np.r_[starts, len(values)])
    long = (lengths >= rows) & np.isfinite(values[starts])
    runs = [(int(first), int(length)) for first, length in zip(starts[long], lengths[long], strict=True)]
    return np.repeat(long, lengths), runs


def _rows(series: Series, hours: float) -> int:
    return max(3, round(hours * 60.0 / series.step_min))


def _neighbours(one: Series, two: Series) -> bool:
    blowing = {"wind", "gust"}
    return one is not two and {one.variable, two.variable} <= blowing and same_grid(one, two)
