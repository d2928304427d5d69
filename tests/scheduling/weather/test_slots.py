from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from scheduling.weather.series import Flag
from scheduling.weather.slots import to_slots
from tests.scheduling.weather.builders import START, wind

NAN = float("nan")


def test_a_slot_takes_the_largest_mean_inside_it() -> None:
    series = wind([5, 12.5, 6, 7, 8, 9], step_min=10)
    assert to_slots(series, start=START, slot_min=30, slots=2).values.tolist() == [12.5, 9.0]
    assert to_slots(series, start=START, slot_min=30, slots=2, how="mean").values.tolist() == [23.5 / 3, 8.0]
    assert to_slots(series, start=START, slot_min=30, slots=2, how="min").values.tolist() == [5.0, 7.0]


def test_one_missing_step_makes_the_slot_missing() -> None:
    for how in ("max", "min", "mean"):
        slotted = to_slots(wind([5, NAN, 6, 7, 8, 9], step_min=10), start=START, slot_min=30, slots=2, how=how)
        assert np.isnan(slotted.values[0])
        assert slotted.flags.tolist() == [Flag.MISSING, 0]


def test_an_hourly_mean_serves_the_slots_inside_its_hour() -> None:
    slotted = to_slots(wind([5, 9]), start=START, slot_min=30, slots=4)
    assert slotted.values.tolist() == [5, 5, 9, 9]


def test_a_slot_across_two_steps_takes_both() -> None:
    slotted = to_slots(wind([5, 9, 4]), start=START + timedelta(minutes=45), slot_min=30, slots=2)
    assert slotted.values.tolist() == [9, 9]


def test_a_coarse_step_is_never_stretched_into_a_window() -> None:
    six_hours = wind([5, 5, 5], step_min=360)
    slotted = to_slots(six_hours, start=START, slot_min=30, slots=4)
    assert np.isnan(slotted.usable()).all()
    assert (slotted.flags == Flag.COARSE).all()
    assert not np.isnan(to_slots(six_hours, start=START, slot_min=360, slots=3).values).any()


def test_outside_the_data_is_missing() -> None:
    slotted = to_slots(wind([5, 6]), start=START - timedelta(hours=1), slot_min=60, slots=4)
    assert np.isnan(slotted.usable()).tolist() == [True, False, False, True]


def test_bad_questions_are_refused() -> None:
    with pytest.raises(ValueError, match="choose max, min or mean"):
        to_slots(wind([5]), start=START, slot_min=30, slots=1, how="median")
    with pytest.raises(ValueError, match="slot_min and slots"):
        to_slots(wind([5]), start=START, slot_min=0, slots=1)
