from __future__ import annotations

import numpy as np

from scheduling.weather import quality
from scheduling.weather.series import Flag, Series
from tests.scheduling.weather.builders import wind

NAN = float("nan")


def flagged(series: Series, flag: Flag) -> list[int]:
    return np.flatnonzero(series.flags & int(flag)).tolist()


def gently(count: int) -> list[float]:
    return [6.0 + 0.1 * (i % 7) for i in range(count)]


def test_a_good_record_gets_no_flag() -> None:
    (checked,) = quality.check([wind(gently(100), step_min=10)])
    assert not checked.flags.any()


def test_a_constant_run_of_six_hours_is_stuck_and_a_shorter_one_is_not() -> None:
    (checked,) = quality.check([wind([*gently(5), *[4.3] * 36, *gently(5)], step_min=10)])
    assert flagged(checked, Flag.STUCK) == list(range(5, 41))
    (short,) = quality.check([wind([*gently(5), *[4.3] * 35, *gently(5)], step_min=10)])
    assert not short.flags.any()


def test_a_gap_ends_a_constant_run() -> None:
    (checked,) = quality.check([wind([4.3] * 20 + [NAN] + [4.3] * 20, step_min=10)])
    assert flagged(checked, Flag.STUCK) == []


def test_zero_for_an_hour_while_the_neighbour_blows_is_dead() -> None:
    alive, dead = wind(gently(30), step_min=10), wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10)
    checked = quality.check([alive, dead])
    assert flagged(checked[1], Flag.DEAD) == list(range(10, 16))
    assert not checked[0].flags.any()


def test_zero_for_an_hour_in_a_calm_is_believed() -> None:
    calm = wind([*gently(10), *[0.4, 0.5] * 3, *gently(14)], step_min=10)
    still = wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10)
    assert not quality.check([calm, still])[1].flags.any()


def test_zero_for_six_hours_is_dead_even_alone() -> None:
    (checked,) = quality.check([wind([*gently(4), *[0.0] * 36], step_min=10)])
    assert flagged(checked, Flag.DEAD) == list(range(4, 40))


def test_spikes_up_and_down_and_nothing_beside_them() -> None:
    (checked,) = quality.check([wind([8, 30, 9, 20, 22, 1, 21, 18])])
    assert flagged(checked, Flag.SPIKE) == [1, 5]


def test_a_front_that_stays_is_no_spike() -> None:
    (checked,) = quality.check([wind([5, 5.1, 25, 24, 25.5])])
    assert not checked.flags.any()


def test_what_the_variable_cannot_be_is_out_of_range() -> None:
    (checked,) = quality.check([wind([5, -0.1, 80, 6])])
    assert flagged(checked, Flag.RANGE) == [1, 2]


def test_pressure_off_by_a_factor_is_a_spike() -> None:
    pressure = wind([95000, 95010, 59220, 95020, 95000], variable="pressure")
    assert flagged(quality.check([pressure])[0], Flag.SPIKE) == [2]


def test_an_empty_series_passes() -> None:
    assert len(quality.check([wind([])])[0].flags) == 0
