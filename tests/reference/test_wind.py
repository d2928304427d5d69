"""Published and closed-form values of wind, air and gusts; the source stands beside each check."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from windpowerlib import density, wind_speed

from scheduling import energy
from scheduling.weather import gust, height, weibull
from scheduling.weather.units import from_kept, to_kept

NEAR = 1e-3  # relative


def near(value: float, rel: float = NEAR) -> object:
    return pytest.approx(value, rel=rel)


# IEC 61400-1 normal wind profile, exponent 0.2 (as cited in the documentation of the R package pwind)
@pytest.mark.parametrize(("exponent", "expected"), [(0.2, 11.094), (0.14, 9.663), (1 / 7, 9.726)])
def test_power_law(exponent: float, expected: float) -> None:
    assert height.power_law(7.0, 10.0, 100.0, exponent) == near(expected)


def test_power_law_default_and_windpowerlib() -> None:
    assert height.power_law(8.0, 80.0, 120.0) == near(8.676)
    theirs = wind_speed.hellman(pd.Series([7.0]), 10, 100, hellman_exponent=0.2)[0]
    assert height.power_law(7.0, 10.0, 100.0) == near(theirs, 1e-9)


# European Wind Atlas roughness classes, from memory; windpowerlib as the second opinion
@pytest.mark.parametrize(("roughness", "expected"), [(0.03, 9.775), (0.10, 10.500)])
def test_log_law(roughness: float, expected: float) -> None:
    assert height.log_law(7.0, 10.0, 100.0, roughness) == near(expected)
    theirs = wind_speed.logarithmic_profile(pd.Series([7.0]), 10, 100, pd.Series([roughness]))[0]
    assert height.log_law(7.0, 10.0, 100.0, roughness) == near(theirs, 1e-9)


# From memory (standard result)
def test_shear_from_two_heights() -> None:
    exponent = float(height.shear_exponent(6.0, 7.0, 40.0, 80.0))
    assert exponent == near(0.2224)
    assert height.power_law(7.0, 80.0, 100.0, exponent) == near(7.356)


# IEC 61400-1 wind classes, from memory
def test_extreme_gusts() -> None:
    assert gust.extreme_gusts_mps("II") == near((59.5, 47.6))


# IEC 61400-1 ed. 3 normal turbulence model (as cited in the documentation of the R package pwind)
@pytest.mark.parametrize(
    ("category", "wind", "sigma", "intensity"),
    [("A", 15.0, 2.696, 0.1797), ("A", 10.0, 2.096, 0.2096), ("C", 10.0, 1.572, 0.1572)],
)
def test_turbulence(category: str, wind: float, sigma: float, intensity: float) -> None:
    assert gust.turbulence_sigma_mps(category, wind) == near(sigma)
    assert gust.turbulence_sigma_mps(category, wind) / wind == near(intensity)


# WMO/TD-No. 1555 (Harper, Kepert, Ginger 2010), table from memory
@pytest.mark.parametrize(
    ("exposure", "expected"), [("in-land", 19.92), ("off-land", 18.24), ("off-sea", 16.56), ("at-sea", 14.76)]
)
def test_gust_factors(exposure: str, expected: float) -> None:
    assert gust.GUST_FACTORS[exposure] * 12.0 == near(expected)


def test_a_gust_cap_as_a_mean() -> None:
    assert 15.0 / gust.GUST_FACTORS["in-land"] == near(9.04)


# 0.42 TI ln(3600/t), from memory; Harstveit (1996) for the near-constant ratio
@pytest.mark.parametrize(("intensity", "expected"), [(0.12, 16.29), (0.16, 17.72)])
def test_gust_from_turbulence(intensity: float, expected: float) -> None:
    assert 12.0 * gust.peak_factor(3.0 / 60.0, intensity) == near(expected)
    assert (gust.peak_factor(3.0 / 60.0, intensity) - 1.0) / intensity == near(2.978)


# Beaufort tables of delta-s.org and meteothes.gr; the mid-band formula from memory
@pytest.mark.parametrize(("wind", "force"), [(0.0, 0), (10.7, 5), (10.8, 6), (13.8, 6), (13.9, 7), (17.2, 8), (40.0, 12)])
def test_beaufort(wind: float, force: int) -> None:
    assert gust.beaufort(wind) == force


def test_beaufort_mid_band() -> None:
    assert gust.beaufort_mid_mps(6) == near(12.29)
    assert gust.beaufort_mid_mps(8) == near(18.92)


# R = 287.05 J/(kg K) as in IEC 61400-12-1 (brightwind pull request 538)
@pytest.mark.parametrize(
    ("pressure", "celsius", "expected"),
    [(101325.0, 15.0, 1.2250), (95000.0, 25.0, 1.1100), (101325.0, 30.0, 1.1644), (101325.0, -10.0, 1.3414)],
)
def test_dry_air(pressure: float, celsius: float, expected: float) -> None:
    assert energy.dry_density(pressure, celsius) == near(expected, 1e-4)
    theirs = density.ideal_gas(pd.Series([pressure]), 0, 0, pd.Series([celsius + 273.15]))[0]
    assert energy.dry_density(pressure, celsius) == near(theirs)


# IEC 61400-12-1 form (brightwind pull request 538), constants from memory
@pytest.mark.parametrize(("celsius", "humidity", "expected"), [(20.0, 50.0, 1.1990), (30.0, 80.0, 1.1496)])
def test_moist_air(celsius: float, humidity: float, expected: float) -> None:
    assert energy.moist_density(101325.0, celsius, humidity) == near(expected, 1e-4)
    assert energy.moist_density(101325.0, celsius, 0.0) == near(energy.dry_density(101325.0, celsius), 1e-12)


# IEC 61400-12-1, from memory
@pytest.mark.parametrize(("wind", "expected"), [(10.0, 9.677), (12.0, 11.612)])
def test_wind_at_reference_density(wind: float, expected: float) -> None:
    assert energy.at_reference_density(wind, 1.1100) == near(expected, 1e-4)


# ISA, from memory
@pytest.mark.parametrize(("metres", "pascals", "expected"), [(500.0, 95461.0, 1.1673), (1000.0, 89875.0, 1.1117)])
def test_standard_air(metres: float, pascals: float, expected: float) -> None:
    assert energy.standard_air(metres) == near((pascals, expected), 1e-4)


# geometry
@pytest.mark.parametrize(("rotor", "area"), [(90.0, 6361.7), (112.0, 9852.0), (126.0, 12469.0), (150.0, 17671.5)])
def test_swept_area(rotor: float, area: float) -> None:
    assert energy.swept_area_m2(rotor) == near(area, 1e-5)


def test_tip_speed() -> None:
    tip = energy.tip_speed_mps(90.0, 18.0)
    assert tip == near(84.82)
    assert from_kept(tip, "km/h", "wind") == near(305.4)
    assert tip / 9.0 == near(9.425)


# Betz limit 16/27, from memory (standard result)
def test_power_in_the_wind() -> None:
    power = energy.wind_power_kw(90.0, 10.0)
    assert power == near(3896.6)
    assert power * 16 / 27 == near(2309.1)
    assert power * 0.45 == near(1753.5)


# Weibull statistics, from memory; scipy as the second opinion
def test_weibull() -> None:
    theirs = stats.weibull_min(2.0, scale=8.0)
    assert weibull.mean_mps(8.0, 2.0) == near(7.090) == near(theirs.mean())
    above = weibull.share_above(12.0, 8.0, 2.0)
    assert above == near(0.10540) == near(theirs.sf(12.0))
    assert above * weibull.HOURS_A_YEAR == near(923.3)
    assert (1 - above) * weibull.HOURS_A_YEAR == near(7836.7)
    assert weibull.median_mps(8.0, 2.0) == near(6.660) == near(theirs.median())
    assert weibull.share_above(10.0, 8.0, 2.0) == near(0.2096)


# Rayleigh and energy pattern factor, from memory
def test_rayleigh() -> None:
    assert weibull.rayleigh_share_above(10.0, 7.0) == near(0.2013)
    assert weibull.rayleigh_share_above(12.0, 7.0) == near(0.09945)
    assert weibull.energy_pattern_factor(2.0) == near(1.9099) == near(6 / math.pi)


# Weibull power density, from memory
def test_power_density() -> None:
    assert weibull.power_density_w_m2(8.0, 2.0, 1.225) == near(416.9)


# exact definitions of knot (1852/3600 m/s) and mile an hour (0.44704 m/s)
def test_units() -> None:
    assert to_kept(25.0, "mph", "wind") == near(11.176, 1e-9)
    assert to_kept(20.0, "kn", "wind") == near(10.289, 1e-4)
    assert [from_kept(10.0, unit, "wind") for unit in ("kn", "mph", "km/h")] == near([19.44, 22.37, 36.0])  # type: ignore[comparison-overlap]


# computed from the power law and the log law
def test_a_hub_limit_for_a_ten_metre_forecast() -> None:
    assert height.limit_at(12.0, 100.0, 10.0) == near(7.571)
    assert height.limit_at(12.0, 100.0, 10.0, 0.14) == near(8.693)
    assert height.log_law(12.0, 100.0, 10.0, 0.03) == near(8.594)


def test_arrays_and_numbers_agree() -> None:
    winds = np.array([3.0, 7.0, 12.0])
    assert height.power_law(winds, 10.0, 100.0).tolist() == [height.power_law(float(wind), 10.0, 100.0) for wind in winds]
