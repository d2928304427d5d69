"""A unit that slipped, put into real records."""

from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather import quality
from scheduling.weather.series import Flag, Series
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.quality.hands import flagged
from tests.scheduling.weather.records import by_name, mast

TWO_DAYS = slice(5_000, 5_288)
MONTHS = slice(0, 8_000)


def slipped(series: Series, factor: float, where: slice = TWO_DAYS) -> Series:
    values = series.values.copy()
    values[where] *= factor
    return series.with_values(values)


def some(*names: str) -> dict[str, Series]:
    """The first two months of some columns of the mast."""
    found = by_name(mast())
    return {name: found[name].with_values(found[name].values[MONTHS], flags=found[name].flags[MONTHS]) for name in names}


def shares(checked: tuple[Series, ...]) -> dict[str, tuple[float, int]]:
    """Share of the two days that is flagged, and steps flagged outside."""
    marks = {one.name: (one.flags & int(Flag.SCALE)) > 0 for one in checked}
    return {name: (float(mark[TWO_DAYS].mean()), int(mark.sum() - mark[TWO_DAYS].sum())) for name, mark in marks.items()}


@pytest.mark.parametrize("factor", [3.6, 1 / 3.6, 1.94384, 2.23694])
@pytest.mark.parametrize("name", ["Spd80mN", "Spd80mNMax"])
def test_of_several_anemometers_the_one_in_another_unit_is_found(name: str, factor: float) -> None:
    series = some("Spd80mN", "Spd80mNMax", "Spd80mS", "Spd40mN")
    found = shares(quality.check([*(one for key, one in series.items() if key != name), slipped(series[name], factor)]))
    assert found[name][0] > 0.8
    assert found[name][1] < 20
    assert all(found[other] == (0.0, 0) for other in series if other != name)


def test_of_two_the_one_that_leapt_is_it() -> None:
    series = some("Spd80mN", "Spd40mN")
    found = shares(quality.check([slipped(series["Spd80mN"], 3.6), series["Spd40mN"]]))
    assert found["Spd80mN"][0] > 0.9
    assert found["Spd40mN"] == (0.0, 0)


def test_a_whole_record_in_another_unit_casts_doubt_on_both_of_two() -> None:
    series = some("Spd80mN", "Spd40mN")
    checked = quality.check([slipped(series["Spd80mN"], 1 / 3.6, slice(None)), series["Spd40mN"]])
    assert all(((one.flags & int(Flag.SCALE)) > 0).mean() > 0.9 for one in checked)


def test_one_pressure_among_others_and_a_stretch_in_another_unit() -> None:
    fine = by_name(mast())["P2m"].values[:2000].copy()
    fine[700] = 59_220.0  # one such value stands in the source of this record
    fine[900:1000] /= 100.0
    (checked,) = quality.check([wind(fine, variable="pressure", step_min=10, height_m=2.0)])
    assert flagged(checked, Flag.SCALE) == [700, *range(900, 1000)]
    assert 700 in flagged(checked, Flag.SPIKE)


def test_a_pressure_that_is_wrong_everywhere_is_out_of_range() -> None:
    (checked,) = quality.check([wind([950.0, 951.0, 952.0], variable="pressure")])
    assert flagged(checked, Flag.RANGE) == [0, 1, 2]
    assert flagged(checked, Flag.SCALE) == []


def test_weather_moves_pressure_by_less() -> None:
    # 870 hPa (typhoon Tip) to 1085.7 hPa (Siberia) are the records at sea level: from memory. A site sees a third of that.
    walk = 98_000.0 + 4_500.0 * np.sin(np.arange(500) / 20.0)
    (checked,) = quality.check([wind(walk, variable="pressure")])
    assert not checked.flags.any()


def test_far_heights_do_not_judge_each_other() -> None:
    night = [*([6.0, 6.5] * 50), *([1.8, 1.9] * 12), *([6.0, 6.5] * 50)]
    aloft = [*([9.0, 9.5] * 50), *([9.8, 9.7] * 12), *([9.0, 9.5] * 50)]
    assert not any(one.flags.any() for one in quality.check([wind(night, height_m=10.0), wind(aloft, height_m=100.0)]))


def test_steps_in_a_calm_tell_nothing() -> None:
    calm = [wind([0.4, 0.5] * 40), wind([0.1, 0.15] * 40)]
    assert not any(one.flags.any() for one in quality.check(calm))


def test_a_stretch_in_fahrenheit_beside_another_thermometer() -> None:
    low = 5.0 + 6.0 * np.sin(np.arange(100) / 4.0)
    high = low - 0.7
    high[40:60] = high[40:60] * 1.8 + 32.0
    checked = quality.check([wind(values, variable="temperature", height_m=h) for values, h in ((low, 2.0), (high, 80.0))])
    assert flagged(checked[1], Flag.SCALE) == list(range(40, 60))
    assert flagged(checked[0], Flag.SCALE) == []


def test_an_inversion_is_weather() -> None:
    valley = wind([-8.0 + 0.1 * (n % 9) for n in range(60)], variable="temperature", height_m=2.0)
    above = wind([6.0 + 0.1 * (n % 7) for n in range(60)], variable="temperature", height_m=100.0)
    assert not any(one.flags.any() for one in quality.check([valley, above]))
