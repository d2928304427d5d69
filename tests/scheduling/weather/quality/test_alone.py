from __future__ import annotations

import numpy as np

from scheduling.weather import quality
from scheduling.weather.series import Flag
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.quality.hands import NAN, flagged, gently


def test_a_good_record_gets_no_flag() -> None:
    (checked,) = quality.check([wind(gently(100), step_min=10)])
    assert not checked.flags.any()


def test_spikes_up_and_down_and_nothing_beside_them() -> None:
    (checked,) = quality.check([wind([8, 30, 9, 20, 22, 1, 21, 18])])
    assert flagged(checked, Flag.SPIKE) == [1, 5]
    assert flagged(checked, Flag.JUMP) == []


def test_a_front_that_stays_is_no_spike() -> None:
    (checked,) = quality.check([wind([5, 5.1, 25, 24, 25.5])])
    assert not checked.flags.any()


def test_what_the_variable_cannot_be_is_out_of_range() -> None:
    (checked,) = quality.check([wind([5, -0.1, 80, 6])])
    assert flagged(checked, Flag.RANGE) == [1, 2]


def test_a_humidity_given_as_a_fraction_is_out_of_range() -> None:
    (checked,) = quality.check([wind([80, 0.8, 1.0, 79], variable="humidity")])
    assert flagged(checked, Flag.RANGE) == [1, 2]


def test_a_jump_is_flagged_until_it_is_half_way_back() -> None:
    (checked,) = quality.check([wind([4, 5, 30, 31, 30, 29, 8, 7])])
    assert flagged(checked, Flag.JUMP) == [2, 3, 4, 5]


def test_a_level_that_stays_is_believed_after_six_hours() -> None:
    (checked,) = quality.check([wind([30.0 + 0.1 * (i % 3) for i in range(12)] + [4.0 + 0.1 * (i % 3) for i in range(20)])])
    assert flagged(checked, Flag.JUMP) == [12, 13, 14, 15, 16, 17]


def test_a_jump_that_another_series_makes_too_is_weather() -> None:
    one, two = wind([4, 5, 30, 31, 30, 29.5]), wind([4, 18, 28, 28, 27, 27.5], height_m=40.0)
    assert not any(flagged(each, Flag.JUMP) for each in quality.check([one, two]))
    still = wind([4, 5, 6, 5, 6, 5.5], height_m=40.0)
    assert flagged(quality.check([one, still])[0], Flag.JUMP) == [2, 3, 4, 5]


def test_six_hour_steps_say_nothing_about_jumps() -> None:
    (checked,) = quality.check([wind([4, 5, 30, 31], step_min=360)])
    assert not checked.flags.any()


def test_nothing_is_said_of_a_step_across_a_hole() -> None:
    (checked,) = quality.check([wind([4, NAN, 30, 31, 30])])
    assert flagged(checked, Flag.JUMP) == []


def test_temperature_and_pressure_jump_too() -> None:
    warm = wind([5, 6, 43, 44, 43, 6], variable="temperature", height_m=2.0)
    heavy = wind(np.array([960, 961, 919, 918, 919, 960]) * 100.0, variable="pressure", height_m=2.0)
    assert [flagged(each, Flag.JUMP) for each in quality.check([warm, heavy])] == [[2, 3, 4], [2, 3, 4]]


def test_an_empty_series_passes() -> None:
    for variable in quality.RULES:
        (checked,) = quality.check([wind([], variable=variable)])
        assert len(checked.flags) == 0
