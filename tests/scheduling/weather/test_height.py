from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduling.weather.height import (
    log_law,
    power_law,
    shear_exponent,
    step_exponents,
    to_hub,
)
from scheduling.weather.series import Flag
from tests.scheduling.weather.builders import wind

NAN = float("nan")


def test_one_height_uses_the_default_and_says_so() -> None:
    hub = to_hub([wind([7.0], height_m=10.0)], 100.0)
    assert hub.series.values[0] == pytest.approx(7.0 * 10**0.2)
    assert (hub.source, hub.from_two) == ("default", 0.0)
    assert hub.series.height_m == 100.0


def test_the_site_exponent_beats_the_default() -> None:
    hub = to_hub([wind([7.0], height_m=10.0)], 100.0, site_exponent=0.14)
    assert hub.series.values[0] == pytest.approx(7.0 * 10**0.14)
    assert hub.source == "site"


def test_two_heights_give_each_step_its_own_exponent() -> None:
    high, low = wind([7.0, 7.0, 2.0, NAN]), wind([6.0, 5.0, 1.0, 6.0], height_m=40.0)
    hub = to_hub([high, low], 100.0)
    assert hub.exponent[:3] == pytest.approx([0.22239, 0.48543, 0.2], abs=1e-5)
    assert hub.exponent[3] == 0.2
    assert hub.series.values[0] == pytest.approx(7.356, rel=1e-4)
    assert np.isnan(hub.series.usable()[3])
    assert hub.from_two == 0.5


def test_wind_at_hub_height_is_left_as_it_is() -> None:
    hub = to_hub([wind([7.0, 8.0]), wind([6.0, 7.0], height_m=40.0)], 80.0)
    assert hub.series.values.tolist() == [7.0, 8.0]
    assert hub.source == "same height"


def test_the_nearest_height_is_carried_and_its_second_boom_fills_in() -> None:
    first, second = wind([NAN, 7.0]), wind([9.0, 9.0])
    hub = to_hub([wind([3.0, 3.0], height_m=10.0), first, second], 80.0)
    assert hub.series.values.tolist() == [9.0, 7.0]


def test_falling_wind_with_height_is_not_believed() -> None:
    hub = to_hub([wind([6.0]), wind([8.0], height_m=40.0)], 100.0)
    assert hub.exponent[0] == 0.0


def test_flags_travel_to_the_hub() -> None:
    dead = replace(wind([0.0, 7.0]), flags=np.array([int(Flag.DEAD), 0], dtype=np.uint8))
    assert np.isnan(to_hub([dead], 100.0).series.usable()[0])


def test_the_gust_is_carried_by_the_same_exponents() -> None:
    hub = to_hub([wind([7.0]), wind([6.0], height_m=40.0)], 100.0)
    gust = hub.carry(wind([10.0], variable="gust"))
    assert gust.values[0] == pytest.approx(10.0 * (100 / 80) ** hub.exponent[0])


def test_each_step_may_have_an_exponent_of_its_own() -> None:
    hub = to_hub([wind([7.0, 7.0], height_m=10.0)], 100.0, np.array([0.1, 0.3]))
    assert hub.series.values == pytest.approx([7.0 * 10**0.1, 7.0 * 10**0.3])
    assert hub.source == "site"
    with pytest.raises(ValueError, match="one for each of the 2 steps"):
        to_hub([wind([7.0, 7.0], height_m=10.0)], 100.0, np.array([0.1, 0.3, 0.2]))


def test_a_site_that_carries_the_default_says_default() -> None:
    assert to_hub([wind([7.0], height_m=10.0)], 100.0, site_exponent=0.2).source == "default"


def test_bad_questions_are_refused() -> None:
    with pytest.raises(ValueError, match="no wind series"):
        to_hub([wind([7.0], variable="gust")], 100.0)
    with pytest.raises(ValueError, match="different times"):
        step_exponents(wind([7.0]), wind([6.0, 6.0], height_m=40.0))
    with pytest.raises(ValueError, match="height"):
        power_law(7.0, 0.0, 100.0)
    with pytest.raises(ValueError, match="roughness_m"):
        log_law(7.0, 10.0, 100.0, 0.0)
    with pytest.raises(ValueError, match="lower height first"):
        shear_exponent(6.0, 7.0, 80.0, 40.0)
