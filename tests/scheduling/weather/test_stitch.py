from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from scheduling.weather.stitch import as_issued
from tests.scheduling.weather.builders import START, wind

HOUR = timedelta(hours=1)


def test_each_hour_takes_the_newest_forecast_issued_before_it() -> None:
    first = (START, wind([1.0] * 6))
    second = (START + 2 * HOUR, wind([2.0] * 6))  # covers the hours before its issue too, which it is not asked about
    for order in ([first, second], [second, first]):
        record = as_issued(order, START, START + 8 * HOUR)
        assert record.usable() == pytest.approx([1, 1, 2, 2, 2, 2, np.nan, np.nan], nan_ok=True)
    assert (record.variable, record.height_m, record.step_min, record.start) == ("wind", 80.0, 60, START)


def test_a_hole_in_the_newer_is_filled_by_the_older() -> None:
    older, newer = wind([1.0] * 4), wind([2.0, float("nan"), 2.0, 2.0])
    assert as_issued([(START, older), (START + timedelta(minutes=1), newer)], START, START + 4 * HOUR).usable().tolist() == [
        1.0, 1.0, 2.0, 2.0,
    ]  # fmt: skip


def test_six_hour_steps_say_nothing_about_an_hour() -> None:
    record = as_issued([(START, wind([3.0, 4.0], step_min=360))], START, START + 6 * HOUR)
    assert np.isnan(record.usable()).all()


def test_nothing_to_stitch_is_refused() -> None:
    with pytest.raises(ValueError, match="none that covers"):
        as_issued([], START, START + HOUR)
    with pytest.raises(ValueError, match="none that covers"):
        as_issued([(START, wind([1.0]))], START, START)
