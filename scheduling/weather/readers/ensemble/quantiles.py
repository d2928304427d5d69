"""Quantiles of each time to members: even steps through the quantile function, in an order that keeps a memory."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.members import DEFAULT_ERROR, correlated
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.series import FloatArray
from scheduling.weather.units import VARIABLES

#: Quantiles become this many members.
MEMBERS = 20
#: What lies beyond the outer quantiles is drawn on straight; quantiles that leave more than this out say too little.
MAX_TAIL = 0.25
#: The order of the members in time is drawn with this seed.
SEED = 0


def probabilities(texts: Sequence[str]) -> FloatArray:
    """float64 [quantiles] in (0, 1), rising, of texts such as 0.1, 10 %, q90; all of one kind.

    Raises ReadRefused for a text that is none, for fractions beside per cents, and for too few.
    """
    numbers = [_number(text) for text in texts]
    if all(0 < number < 1 for number in numbers):
        found = np.array(numbers)
    elif all(1 <= number < 100 for number in numbers):
        found = np.array(numbers) / 100.0
    else:
        raise ReadRefused(f"quantiles: {', '.join(texts)} are not all fractions between 0 and 1, nor all per cents from 1 to 99")
    if len(found) < 2 or found.min() > MAX_TAIL or found.max() < 1 - MAX_TAIL:
        raise ReadRefused(
            f"quantiles: {', '.join(texts)} say too little; give at least one up to {MAX_TAIL} and one from {1 - MAX_TAIL} on"
        )
    return found


def _number(text: str) -> float:
    found = re.fullmatch(r"[qQpP]?\s*(\d+(?:\.\d+)?)\s*%?", text)
    if found is None:
        raise ReadRefused(f"quantiles: {text!r} is no quantile such as 0.1, 10 or q10")
    return float(found[1])


def check_rising(values: FloatArray, levels: FloatArray) -> tuple[int, int] | None:
    """(time, quantile) of the first value [quantiles, t] that lies below the one of a lower quantile; None where all rise."""
    order = np.argsort(levels)
    with np.errstate(invalid="ignore"):
        falls = np.diff(values[order], axis=0) < -1e-9
    if not falls.any():
        return None
    at = int(np.argmax(falls.any(axis=0)))
    return at, int(order[int(np.argmax(falls[:, at])) + 1])


def sampled(values: FloatArray, levels: FloatArray, variable: str, count: int = MEMBERS) -> FloatArray:
    """float64 [count, t]: the quantile function of each time at the middles of `count` even shares, rising.

    values    float64 [quantiles, t] in kept units; a time without all of them is NaN for every member
    levels    float64 [quantiles], rising

    Between two quantiles straight; beyond the outer two on along the last slope, so that the windiest members
    lie above the highest quantile. What cannot be below 0 is cut off there.
    """
    wanted = (np.arange(count) + 0.5) / count
    right = np.clip(np.searchsorted(levels, wanted), 1, len(levels) - 1)
    share = ((wanted - levels[right - 1]) / (levels[right] - levels[right - 1]))[:, None]
    drawn = values[right - 1] + share * (values[right] - values[right - 1])
    drawn[:, ~np.isfinite(values).all(axis=0)] = np.nan
    return drawn if VARIABLES[variable] == "degC" else np.maximum(drawn, 0.0)


def ranks(seconds: NDArray[np.int64], count: int = MEMBERS) -> NDArray[np.intp]:
    """int [count, t]: which of the rising values each member takes at each time (`seconds`, rising).

    Quantiles say nothing of how long a state lasts. One rank for ever would make a long stay as likely as its
    worst hour, a new rank each hour far too unlikely; so the ranks are those of errors with the memory of the
    default error model, the same for every variable.
    """
    lead_h = (seconds - seconds[0]) / 3600.0
    noise = correlated(count, lead_h, DEFAULT_ERROR.memory_h, SEED)
    return np.argsort(np.argsort(noise, axis=0, kind="stable"), axis=0, kind="stable")


def in_order(rising: FloatArray, order: NDArray[np.intp]) -> FloatArray:
    """float64 [count, t]: the values dealt out to the members by rank."""
    return np.take_along_axis(rising, order, axis=0)
