from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.readers.grid import duplicates, gaps, lay_grid, place
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.series import Flag

NAN = float("nan")


def minutes(*values: int) -> np.ndarray:
    return np.array(values, dtype=np.int64) * 60


def test_the_usual_step_rules_and_gaps_are_counted_in_time() -> None:
    grid = lay_grid(minutes(0, 10, 20, 60, 70), None, "start")
    assert (grid.step_s, grid.steps) == (600, 8)
    (gap,) = gaps(grid)
    assert (gap.steps, gap.start.minute, gap.end.hour) == (3, 30, 1)
    values, flags, _ = place(grid, np.arange(5.0), "ws")
    assert flags.tolist() == [0, 0, 0, Flag.GAP, Flag.GAP, Flag.GAP, 0, 0]
    assert np.isnan(values[3:6]).all()


def test_the_order_of_rows_and_equal_repeats_do_not_matter() -> None:
    straight = place(lay_grid(minutes(0, 10, 20), None, "start"), np.array([1.0, 2.0, 3.0]), "ws")
    shuffled = lay_grid(minutes(20, 0, 10, 0), None, "start")
    again = place(shuffled, np.array([3.0, 1.0, 2.0, 1.0]), "ws")
    np.testing.assert_array_equal(straight[0], again[0])
    assert duplicates(shuffled) == 1
    assert again[2] == ()


def test_two_values_for_one_time_are_both_kept_apart_and_neither_is_used() -> None:
    grid = lay_grid(minutes(0, 10, 10, 20), None, "start")
    values, flags, (conflict,) = place(grid, np.array([1.0, 2.0, 9.0, 3.0]), "ws")
    assert flags[1] == Flag.CONFLICT
    assert np.isnan(values[1])
    assert (conflict.column, conflict.time.minute, conflict.values) == ("ws", 10, (2.0, 9.0))


def test_a_value_beside_a_missing_one_is_no_conflict() -> None:
    grid = lay_grid(minutes(0, 10, 10, 20), None, "start")
    values, flags, conflicts = place(grid, np.array([NAN, NAN, 9.0, 3.0]), "ws")
    assert flags.tolist() == [Flag.MISSING, 0, 0]
    assert values[1] == 9.0
    assert conflicts == ()


def test_stamps_at_the_end_of_the_step_move_back() -> None:
    assert lay_grid(minutes(10, 20, 30), None, "end").start_s == 0
    assert lay_grid(minutes(10, 20, 30), None, "start").start_s == 600


def test_half_hour_stamps_keep_their_own_grid() -> None:
    assert lay_grid(minutes(30, 90, 150), None, "start").start_s == 1800


def test_a_row_off_the_grid_is_left_out_but_many_are_refused() -> None:
    times = minutes(*range(0, 2000, 10), 13)
    grid = lay_grid(times, None, "start")
    assert grid.slot[-1] == -1
    assert grid.steps == 200
    with pytest.raises(ReadRefused, match="2 rows do not lie on steps of 10 min"):
        lay_grid(minutes(0, 10, 20, 25, 33), 10, "start")


def test_what_makes_no_grid_is_refused() -> None:
    with pytest.raises(ReadRefused, match="One time alone"):
        lay_grid(minutes(5, 5), None, "start")
    with pytest.raises(ReadRefused, match="every 30 s"):
        lay_grid(np.array([0, 30, 60], dtype=np.int64), None, "start")
    with pytest.raises(ReadRefused, match="wrong year"):
        lay_grid(minutes(0, 10, 20, 10 * 60_000_000), None, "start")
