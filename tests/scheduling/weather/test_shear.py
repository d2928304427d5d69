from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from scheduling.weather.height import DEFAULT_EXPONENT, power_law, shear_exponent, to_hub
from scheduling.weather.series import FloatArray, Series
from scheduling.weather.shear import FittedExponents, fitted_exponents, hours_of_day, shear_pair
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.records import by_name, mast, wrf


def test_the_exponent_carries_one_mean_to_the_other() -> None:
    high, low = wind([7.0, 9.0, 1.0] * 4_000), wind([6.0, 6.5, 0.1] * 4_000, height_m=40.0)
    found = fitted_exponents(high, low)
    own, weight = float(shear_exponent(6.25, 8.0, 40.0, 80.0)), 8_000 / 8_240
    assert found.site == pytest.approx(weight * own + (1 - weight) * DEFAULT_EXPONENT)
    assert power_law(low.values[:2], 40.0, 80.0, found.site).mean() == pytest.approx(8.0, rel=0.01)


def test_what_tells_no_profile_is_refused() -> None:
    with pytest.raises(ValueError, match="no step has both heights above 3 m/s"):
        fitted_exponents(wind([1.0]), wind([1.0], height_m=40.0))
    with pytest.raises(ValueError, match="lower height first"):
        fitted_exponents(wind([6.0]), wind([7.0]))
    with pytest.raises(ValueError, match="different times"):
        fitted_exponents(wind([6.0]), wind([7.0, 7.0], height_m=40.0))


def test_few_data_are_mostly_the_default_and_say_so() -> None:
    low = wind([6.0] * 48, height_m=40.0)
    found = fitted_exponents(low.with_values(low.values * 2**0.4, height_m=80.0), low)
    assert (found.site_hours, found.site_default_share) == (48.0, pytest.approx(240 / 288))
    assert found.site == pytest.approx(0.4 * 48 / 288 + 0.2 * 240 / 288)
    assert set(found.hours) == {2.0}
    assert found.default_share == pytest.approx([240 / 288 * 10 / 12] * 24)


def test_an_hour_without_data_has_the_sites_exponent() -> None:
    low = wind([6.0] * 30, height_m=40.0, step_min=10)
    found = fitted_exponents(low, low.with_values(low.values * 2**0.4, height_m=80.0))
    assert found.hours[:6] == (1.0, 1.0, 1.0, 1.0, 1.0, 0.0)
    assert found.exponent[5:] == (found.site,) * 19


def test_each_step_takes_the_hour_of_its_middle() -> None:
    assert hours_of_day(wind([1.0] * 8, step_min=30)).tolist() == [0, 0, 1, 1, 2, 2, 3, 3]
    assert hours_of_day(wind([1.0] * 3, step_min=60)).tolist() == [0, 1, 2]
    table = FittedExponents(tuple(n / 100 for n in range(24)), (9.0,) * 24, (0.0,) * 24, 0.1, 216.0, 0.5, 40.0, 80.0)
    assert table.on(wind([1.0] * 26))[[0, 23, 24]].tolist() == [0.0, 0.23, 0.0]
    hub = to_hub([wind([7.0] * 24, height_m=10.0)], 100.0, table.on(wind([7.0] * 24)))
    assert hub.series.values[10] == pytest.approx(7.0 * 10**0.1)


def test_the_pair_is_the_top_and_the_lowest_that_is_not_near_the_ground() -> None:
    def pair(*heights: float) -> tuple[float, float]:
        low, high = shear_pair([wind([5.0], height_m=height) for height in heights])
        return low.height_m, high.height_m

    assert pair(10, 80, 40, 60) == (40, 80)
    assert pair(100, 10, 20) == (20, 100)
    for heights in ((80,), (80, 70), ()):
        with pytest.raises(ValueError, match="wind at two heights"):
            pair(*heights)


def test_a_second_boom_fills_in() -> None:
    holes, whole = wind([float("nan"), 8.0]), wind([7.0, 7.0], name="second")
    _, high = shear_pair([wind([5.0, 5.0], height_m=40.0), holes, whole])
    assert high.usable().tolist() == [7.0, 8.0]


Errors = dict[str, FloatArray]


def held_out(
    low: Series, high: Series, target: Series, blocks: np.ndarray, carry: Callable[[FloatArray], FloatArray]
) -> tuple[Errors, np.ndarray]:
    """Errors of the target height's wind by exponents fitted to the other blocks, where both heights blow; and those steps."""
    ways: Errors = {name: np.full(len(blocks), np.nan) for name in ("default", "median", "site", "hour")}
    for block in range(blocks.max() + 1):
        test = blocks == block
        known = fitted_exponents(*(one.with_values(np.where(test, np.nan, one.values)) for one in (low, high)))
        steps = np.log(high.values / np.maximum(low.values, 0.1)) / np.log(high.height_m / low.height_m)
        blowing = (low.values >= 3) & (high.values >= 3)
        exponents = {
            "default": np.full(len(blocks), DEFAULT_EXPONENT), "median": np.full(len(blocks), np.median(steps[blowing & ~test])),
            "site": np.full(len(blocks), known.site), "hour": known.on(low),
        }  # fmt: skip
        for name, exponent in exponents.items():
            ways[name][test] = (carry(exponent) - target.values)[test]
    return ways, (low.values >= 3) & (high.values >= 3)


def rmse(errors: FloatArray) -> float:
    return float(np.sqrt((errors**2).mean()))


def test_exponents_of_other_months_on_the_mast() -> None:
    """80 m from 40 m; measured: default 0.95, one exponent 0.83, by hour 0.82 m/s. A season's own table helps no further."""
    found = by_name(mast())
    low, high = found["Spd40mN"], found["Spd80mN"]
    when = pd.to_datetime(low.times())
    errors, blowing = held_out(low, high, high, when.month.to_numpy() - 1, lambda x: power_law(low.values, 40.0, 80.0, x))
    day = blowing & (when.hour >= 7) & (when.hour < 17)
    assert [rmse(errors[way][blowing]) for way in ("default", "site", "hour")] == [
        pytest.approx(value, abs=0.005) for value in (0.948, 0.832, 0.820)
    ]
    assert errors["median"][blowing].mean() == pytest.approx(-0.14, abs=0.01), "too little wind: the unsafe side"
    assert abs(errors["hour"][blowing].mean()) < 0.03
    # One exponent says too much by day and too little by night; the hours' own do neither.
    night = blowing & ~day
    assert [float(errors[way][part].mean()) for way in ("site", "hour") for part in (day, night)] == [
        pytest.approx(value, abs=0.03) for value in (0.16, -0.10, 0.01, 0.01)
    ]


def test_two_heights_predict_a_third() -> None:
    """200 m from 50 and 100 m, a month of a model's wind: each step's own exponent is 0.25 m/s off (2 %), the default 1.2."""
    found = by_name(wrf())
    low, high, top = found["WS-50"], found["WS-100"], found["WS-200"]
    hub = to_hub([high, low], 200.0)
    assert hub.source == "two heights"
    assert rmse(hub.series.values - top.values) == pytest.approx(0.25, abs=0.01)
    assert rmse(to_hub([high], 200.0).series.values - top.values) == pytest.approx(1.22, abs=0.01)
    # Of the steps above 12 m/s at 200 m, 10 of 1,675 are taken for 12 or less.
    strong = top.values > 12
    assert (int(strong.sum()), int((hub.series.values[strong] <= 12).sum())) == (1_675, 10)


def test_exponents_of_other_weeks_predict_a_third_height() -> None:
    found = by_name(wrf())
    low, high, top = found["WS-50"], found["WS-100"], found["WS-200"]
    blocks = np.arange(len(low.values)) * 3 // len(low.values)
    errors, blowing = held_out(low, high, top, blocks, lambda x: power_law(high.values, 100.0, 200.0, x))
    assert rmse(errors["site"][blowing]) == pytest.approx(0.55, abs=0.03)
    assert rmse(errors["default"][blowing]) == pytest.approx(1.23, abs=0.01)
