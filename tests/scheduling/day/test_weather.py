from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.day.problem import Limit
from scheduling.day.weather import View
from tests.scheduling.day.farm import HOUR, MORNING, STAY, WIND, with_wind


def test_a_stay_touches_every_slot_it_begins() -> None:
    view = View(MORNING, STAY)
    assert view.slots_of(8 * HOUR) == (8, 11)
    assert view.slots_of(8 * HOUR + 1) == (8, 12)


@pytest.mark.parametrize("start", [-HOUR, 22 * HOUR, 30 * HOUR])
def test_outside_the_forecast_nothing_is_sure(start: int) -> None:
    assert View(MORNING, STAY).chance(start) == 0.0


def test_the_binding_limit_is_the_one_with_least_room() -> None:
    """Wind 8.3 of 12 leaves 31 %, visibility 1,100 of 1,000 m leaves 10 %."""
    sets = {"nacelle": (WIND, Limit("visibility", "visibility", ">=", 1_000.0, "m"))}
    series = MORNING.series | {"visibility": ((1_100.0,) * 24,) * 5}
    view = View(replace(MORNING, limit_sets=sets, series=series), STAY)
    binding = view.binding(8 * HOUR)
    assert binding is not None
    assert (binding.name, binding.value, binding.unit) == ("visibility", 1_100.0, "m")


def test_the_value_named_is_kept_in_the_asked_share_of_members() -> None:
    """Members at 8.0, 8.1, ... 8.4 m/s: four of five keep 8.3, all keep 8.4."""
    for confidence, value in ((0.8, 8.3), (1.0, 8.4), (0.2, 8.0)):
        binding = View(replace(MORNING, confidence=confidence), STAY).binding(8 * HOUR)
        assert binding is not None
        assert binding.value == pytest.approx(value)


def test_an_unknown_value_binds_before_any_other() -> None:
    binding = View(with_wind({9: None, 10: 30.0}), STAY).binding(8 * HOUR)
    assert binding is not None
    assert (binding.value, binding.at_min) == (None, 9 * HOUR)
