from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pytest

from scheduling.weather.series import Flag, flag_runs, preferred, same_grid, series_of
from tests.scheduling.weather.builders import START, wind

NAN = float("nan")


def test_missing_becomes_a_flag_and_a_flagged_value_is_unusable() -> None:
    series = wind([5.0, NAN, 7.0])
    assert list(series.flags) == [0, Flag.MISSING, 0]
    stuck = replace(series, flags=np.array([0, 1, int(Flag.STUCK)], dtype=np.uint8))
    assert stuck.values[2] == 7.0
    assert np.isnan(stuck.usable()).tolist() == [False, True, True]


def test_times_and_index() -> None:
    series = wind([1.0, 2.0, 3.0], step_min=10)
    assert series.end == START + timedelta(minutes=30)
    assert series.times()[2] == np.datetime64("2025-06-02T00:20")
    assert series.index(START + timedelta(minutes=19)) == 1
    assert series.index(START - timedelta(minutes=1)) == -1


def test_a_start_in_another_zone_is_kept_in_utc() -> None:
    local = datetime(2025, 6, 2, 2, tzinfo=timezone(timedelta(hours=2)))
    assert wind([1.0], start=local).start == datetime(2025, 6, 2, tzinfo=UTC)


def test_values_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        wind([1.0]).values[0] = 2.0


def test_a_naive_start_is_refused() -> None:
    with pytest.raises(ValueError, match="start: the time has no zone"):
        wind([1.0], start=datetime(2025, 6, 2))


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="step_min"):
        wind([1.0], step_min=0)
    with pytest.raises(ValueError, match="not known"):
        series_of("breeze", np.ones(2), start=START, step_min=10, height_m=10, averaging_min=10)
    with pytest.raises(ValueError, match="same length"):
        replace(wind([1.0]), flags=np.zeros(2, dtype=np.uint8))


def test_between_takes_whole_steps_only() -> None:
    series = wind(list(range(6)))
    part = series.between(START + timedelta(minutes=30), START + timedelta(hours=4, minutes=30))
    assert part.values.tolist() == [1.0, 2.0, 3.0]
    assert part.start == START + timedelta(hours=1)
    assert series.between(START - timedelta(days=1), START + timedelta(days=9)).values.tolist() == list(range(6))


def test_between_outside_is_refused_with_the_span() -> None:
    with pytest.raises(ValueError, match="the series runs from 2025-06-02 00:00 to 2025-06-02 02:00 UTC"):
        wind([1.0, 2.0]).between(START + timedelta(days=3), START + timedelta(days=4))


def test_a_second_boom_stands_in_only_where_it_is_good_itself() -> None:
    first = wind([5.0, NAN, NAN])
    second = replace(wind([9.0, 6.0, 0.0]), flags=np.array([0, 0, int(Flag.DEAD)], dtype=np.uint8))
    merged = preferred([first, second])
    assert merged.usable()[:2].tolist() == [5.0, 6.0]
    assert np.isnan(merged.usable()[2])


def test_a_boom_at_another_height_or_time_cannot_stand_in() -> None:
    with pytest.raises(ValueError, match="one variable, height, averaging and grid"):
        preferred([wind([5.0]), wind([5.0], height_m=40.0)])
    later = wind([5.0], start=START + timedelta(hours=1))
    assert not same_grid(wind([5.0]), later)
    with pytest.raises(ValueError, match="grid"):
        preferred([wind([5.0]), later])


def test_flag_runs() -> None:
    flags = np.array([0, 4, 4, 0, 5, 1], dtype=np.uint8)
    assert list(flag_runs(flags, Flag.STUCK)) == [(1, 2), (4, 1)]
    assert list(flag_runs(flags, Flag.SPIKE)) == []
