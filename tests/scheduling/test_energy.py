from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from windpowerlib import density, temperature

from scheduling.energy import (
    PowerCurve,
    air_density,
    dry_density,
    lost_mwh,
    lost_mwh_per_hour,
    moist_density,
    prices,
    standard_air,
)
from tests.scheduling.weather.records import by_name, mast
from tests.shared import shared_path

NAN = float("nan")
CURVE = PowerCurve((3.0, 5.0, 12.0, 25.0), (0.0, 400.0, 2000.0, 2000.0))


def test_straight_lines_between_points_and_nothing_outside() -> None:
    winds = np.array([0.0, 2.9, 3.0, 4.0, 5.0, 12.0, 25.0, 25.1])
    assert CURVE.kw(winds).tolist() == [0, 0, 0, 200, 400, 2000, 2000, 0]
    assert (CURVE.rated_kw, CURVE.cut_in_mps) == (2000.0, 3.0)


def test_a_step_at_cut_out_is_allowed_and_cut_out_itself_still_runs() -> None:
    stepped = PowerCurve((4.0, 12.0, 25.0, 25.0), (100.0, 2000.0, 2000.0, 0.0))
    assert stepped.kw(np.array([3.9, 4.0, 25.0, 25.01])).tolist() == [0, 100, 2000, 0]
    assert stepped.cut_in_mps == 4.0


@pytest.mark.parametrize(
    ("speeds", "power", "message"),
    [
        ((3, 5, 5, 9), (0, 100, 200, 300), "speed 5 m/s follows 5; speeds must rise"),
        ((3, 5, 4), (0, 100, 200), "speed 4 m/s follows 5"),
        ((3, 5, 5), (0, 100, 200), "speed 5 m/s follows 5"),
        ((3, 5), (0, None), "power None at 5 m/s; give a number of 0 or more, no blank"),
        ((3, 5), (0, NAN), "no blank"),
        ((3, 5), (0, -2), "0 or more"),
        ((3, 5), (0, 2_000_000), "divide watts by 1000"),
        ((3, 5, 7), (0, 100), "as many powers as speeds"),
        ((3,), (0,), "at least two"),
        ((3, 5), (0, 0), "every power is 0"),
        ((-3, 5), (0, 100), "speed -3"),
        ((3, True), (0, 100), "speed True"),
    ],
)
def test_a_broken_curve_is_refused(speeds: Any, power: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        PowerCurve(speeds, power)


def test_lost_energy_of_an_hour() -> None:
    lost = lost_mwh_per_hour(np.array([[2.0, 5.0, 12.0, 26.0, NAN]]), CURVE)
    assert lost[0, :4].tolist() == [0.0, 0.4, 2.0, 0.0]
    assert np.isnan(lost[0, 4])


def test_thin_air_carries_less_but_cut_out_is_the_wind_itself() -> None:
    winds = np.array([[8.0, 25.5]])
    thin = lost_mwh_per_hour(winds, CURVE, density_kg_m3=1.10)
    assert thin[0, 0] == pytest.approx(lost_mwh_per_hour(winds * (1.10 / 1.225) ** (1 / 3), CURVE)[0, 0])
    assert thin[0, 0] < lost_mwh_per_hour(winds, CURVE)[0, 0]
    assert thin[0, 1] == 0.0


def test_cold_air_does_not_stop_a_turbine_below_cut_out() -> None:
    assert lost_mwh_per_hour(np.array([[24.5]]), CURVE, density_kg_m3=1.40)[0, 0] == 2.0


def test_what_the_grid_does_not_take_is_not_lost() -> None:
    winds = np.array([[12.0, 12.0, 5.0]])
    assert lost_mwh_per_hour(winds, CURVE, cap_kw=np.array([1500.0, 0.0, 1500.0])).tolist() == [[1.5, 0.0, 0.4]]


def test_lost_energy_of_an_interval_is_the_mean_over_members() -> None:
    lost = np.array([[1.0, 2.0, 3.0, 4.0], [3.0, 4.0, 5.0, 6.0]])
    assert lost_mwh(lost, 30, 1, 3) == pytest.approx((2.5 + 4.5) / 2)
    assert lost_mwh(lost, 30, 2, 2) == 0.0
    assert np.isnan(lost_mwh(np.array([[1.0, NAN]]), 60, 0, 2))
    with pytest.raises(ValueError, match="not inside the 4 slots"):
        lost_mwh(lost, 30, 1, 5)


def test_prices_flat_by_hour_and_negative() -> None:
    hours = np.array([0, 13, 23])
    assert prices(60, hours).tolist() == [60, 60, 60]
    assert prices([float(hour) - 5 for hour in range(24)], hours).tolist() == [-5, 8, 18]
    for wrong in ([1.0] * 23, NAN, [NAN] * 24):
        with pytest.raises(ValueError, match="24, one for each local hour"):
            prices(wrong, hours)


def test_altitude_is_checked() -> None:
    with pytest.raises(ValueError, match="altitude_m"):
        standard_air(95_461.0)


def test_open_power_curves_read_and_the_broken_one_does_not() -> None:
    rows = shared_path("data/power_curves/NREL-5MW-D126-H90.csv").read_text(encoding="utf-8-sig").splitlines()[1:]
    points = [tuple(map(float, row.split(",")[:2])) for row in rows]
    curve = PowerCurve(tuple(one[0] for one in points), tuple(one[1] for one in points))
    assert curve.kw(np.array([8.0]))[0] == pytest.approx(dict(points)[8.0])
    path = shared_path("data/power_curves/power_curves_broken_duplicate_columns.csv")
    head, row = (line.split(",") for line in path.read_text(encoding="utf-8").splitlines()[:2])
    known = [(float(speed), float(watts) / 1000) for speed, watts in zip(head[1:], row[1:], strict=True) if watts]
    with pytest.raises(ValueError, match="speed 15 m/s follows 15"):
        PowerCurve(tuple(one[0] for one in known), tuple(one[1] for one in known))


def test_density_from_whatever_is_known() -> None:
    pressure, warm = np.array([95_000.0, NAN, 95_000.0, NAN]), np.array([25.0, 25.0, NAN, NAN])
    standard = standard_air(500.0)
    expected = [
        dry_density(95_000.0, 25.0), dry_density(standard[0], 25.0), dry_density(95_000.0, 15.0 - 3.25), standard[1],
    ]  # fmt: skip
    assert air_density(500.0, pressure, warm) == pytest.approx(expected)
    assert air_density(500.0) == pytest.approx(standard[1])
    damp = air_density(0.0, 101_325.0, np.array([20.0, 20.0]), np.array([50.0, NAN]))
    assert damp == pytest.approx([moist_density(101_325.0, 20.0, 50.0), dry_density(101_325.0, 20.0)])
    assert air_density(0.0, 101_325.0, 20.0, 130.0) == air_density(0.0, 101_325.0, 20.0, 100.0)
    with pytest.raises(ValueError, match="altitude_m"):
        air_density(20_000.0)


def test_humid_air_is_lighter_by_little() -> None:
    for celsius in range(-20, 31, 5):
        share = moist_density(101_325.0, float(celsius), 100.0) / dry_density(101_325.0, float(celsius))
        assert 0.982 < share <= 1.0


@pytest.mark.parametrize(("up_m", "celsius"), [(50.0, 15.0), (100.0, -5.0), (150.0, 28.0)])
def test_density_at_the_hub_agrees_with_a_wind_library(up_m: float, celsius: float) -> None:
    """windpowerlib 0.2.2: linear gradient of temperature, pressure falling by a flat 1/8 hPa a metre, ideal gas."""
    at_hub = temperature.linear_gradient(pd.Series([celsius + 273.15]), 2, 2 + up_m)
    theirs = density.ideal_gas(pd.Series([98_000.0]), 2, 2 + up_m, at_hub)[0]
    assert air_density(200.0, 98_000.0, celsius, up_m=up_m) == pytest.approx(theirs, rel=3e-3)


def test_density_of_a_year_on_a_mast() -> None:
    """The mast's barometer, thermometer and hygrometer; a hundred metres up there is 0.9 % less of it."""
    found = by_name(mast())
    here = [found[name].values for name in ("P2m", "T2m", "RH2m")]
    year = air_density(300.0, *here)
    assert 1.05 < year.min() < year.max() < 1.35
    assert (year <= dry_density(here[0], here[1]) + 1e-12).all()
    assert (air_density(300.0, *here, up_m=100.0) / year).mean() == pytest.approx(0.991, abs=1e-3)
