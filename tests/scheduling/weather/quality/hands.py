"""What the tests of the rules share."""

from __future__ import annotations

import numpy as np

from scheduling.weather.series import Flag, Series

NAN = float("nan")


def flagged(series: Series, flag: Flag) -> list[int]:
    """The steps that carry a flag."""
    return np.flatnonzero(series.flags & int(flag)).tolist()


def gently(count: int, base: float = 6.0, by: float = 0.1) -> list[float]:
    """Wind that moves a little."""
    return [base + by * (i % 7) for i in range(count)]
