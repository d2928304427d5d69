from __future__ import annotations

from datetime import UTC, datetime

import pytest

from scheduling.weather import quality
from scheduling.weather.series import Flag, Series
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.quality.hands import flagged, gently
from tests.scheduling.weather.records import by_name, mast


def air(celsius: float, humid: float | None = 97.0, count: int = 60) -> list[Series]:
    cold = wind([celsius + 0.01 * (i % 5) for i in range(count)], variable="temperature", height_m=2.0, step_min=10)
    if humid is None:
        return [cold]
    return [cold, wind([humid - 0.1 * (i % 4) for i in range(count)], variable="humidity", height_m=2.0, step_min=10)]


FROZEN = [*gently(20), *[4.31, 4.32] * 8, *gently(24)]


@pytest.mark.parametrize(
    ("around", "found"),
    [(air(-2.0), True), (air(0.9), True), (air(1.5), False), (air(-2.0, 60.0), False), (air(-2.0, None), True), ([], False)],
    ids=["cold and humid", "near freezing", "too warm", "too dry", "humidity unknown", "temperature unknown"],
)
def test_a_reading_that_hardly_moves_for_two_hours(around: list[Series], found: bool) -> None:
    checked = quality.check([wind(FROZEN, step_min=10), *around])[0]
    assert flagged(checked, Flag.ICING) == (list(range(20, 36)) if found else [])


def test_a_dew_point_near_the_temperature_is_humid() -> None:
    cold = air(-2.0, None)
    for dew, found in ((-2.5, True), (-8.0, False)):
        damp = wind([dew] * 60, variable="dew_point", height_m=2.0, step_min=10)
        assert bool(flagged(quality.check([wind(FROZEN, step_min=10), *cold, damp])[0], Flag.ICING)) is found


def test_two_hours_at_zero_in_the_cold_are_suspect_unless_a_neighbour_is_calm_and_alive() -> None:
    zero = wind([*gently(20), *[0.0] * 14, *gently(26)], step_min=10)
    assert flagged(quality.check([zero, *air(-1.0)])[0], Flag.ICING) == list(range(20, 34))
    calm = wind([*gently(20), *[0.3, 0.6] * 7, *gently(26)], step_min=10)
    assert not quality.check([zero, calm, *air(-1.0)])[0].flags.any()


def test_falling_behind_the_neighbour_for_an_hour() -> None:
    slow = wind([*gently(20), *gently(10, base=3.0), *gently(30)], step_min=10)
    good = wind([*gently(20), *gently(10, base=6.4), *gently(30)], step_min=10, name="good")
    checked = quality.check([slow, good, *air(-1.0)])
    assert flagged(checked[0], Flag.ICING) == list(range(20, 30))
    assert not checked[1].flags.any()
    assert not quality.check([slow, good, *air(5.0)])[0].flags.any()


def test_a_frozen_vane_needs_wind() -> None:
    vane = wind([*[40.0 + 3.71 * (i % 13) + 0.02 * i for i in range(30)], *[88.3] * 15], variable="direction", step_min=10)
    blowing, calm = wind(gently(45), step_min=10), wind(gently(45, base=0.5), step_min=10)
    assert flagged(quality.check([vane, blowing, *air(-1.0, count=45)])[0], Flag.ICING) == list(range(30, 45))
    assert not quality.check([vane, calm, *air(-1.0, count=45)])[0].flags.any()


def test_a_forecast_in_whole_numbers_is_not_iced() -> None:
    whole = wind([*[5.0, 6.0, 7.0] * 6, *[6.0] * 14, *[5.0, 7.0] * 14], step_min=10)
    assert not quality.check([whole, *air(-3.0)])[0].flags.any()


def test_the_second_boom_of_the_mast_ices_on_28_january_2017() -> None:
    # Counted with pandas: 15:00 to 17:10 at 0.1 m/s (its offset) and -0.1 degC, 99 %, while the first boom averages 6.3 m/s.
    checked = by_name(quality.check(mast()))
    boom = checked["Spd80mS"]
    first = boom.index(datetime(2017, 1, 28, 15, 0, tzinfo=UTC))
    assert flagged(boom, Flag.ICING) == list(range(first, first + 13))
    assert boom.values[first : first + 13].max() < 0.6
    assert not checked["Spd80mN"].flags.any()
