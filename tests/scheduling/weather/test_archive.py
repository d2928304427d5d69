from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from scheduling.weather.archive import pack_series, unpack_series
from scheduling.weather.series import Flag, Series

START = datetime(2026, 1, 1, tzinfo=UTC)


def test_series_come_back_with_flags_and_without_a_hair_above_a_limit() -> None:
    values = np.array([12.1, np.nan, 101_325.0, 0.0])
    flags = np.array([0, int(Flag.MISSING), 0, int(Flag.DEAD)], dtype=np.uint8)
    one = Series("wind", 80.0, 10.0, START, 10, values, flags, "north boom")
    data, about = pack_series([one])
    (back,) = unpack_series(data, about, START, 10)
    assert np.array_equal(back.values, values, equal_nan=True)
    assert np.array_equal(back.flags, flags)
    assert (back.variable, back.height_m, back.averaging_min, back.name) == ("wind", 80.0, 10.0, "north boom")
    assert back.values[0] <= 12.1
