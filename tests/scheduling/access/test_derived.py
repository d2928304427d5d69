from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.access import derived
from scheduling.access.heat import SHARES, reference_wbgt_c, work_rest_share

law = settings(max_examples=60, deadline=None, derandomize=True)
NAN = float("nan")
temperatures = st.floats(-30, 45)
humidities = st.floats(1, 100)


@law
@given(temperature=temperatures, wind=st.floats(0, 40))
def test_felt_cold_is_never_warmer_than_the_air(temperature: float, wind: float) -> None:
    felt = float(derived.wind_chill_c(temperature, wind))
    assert felt <= temperature
    if temperature > 10:
        assert felt == temperature


@law
@given(temperature=st.floats(-30, 10))
def test_light_and_stronger_wind_meet(temperature: float) -> None:
    below, above = derived.wind_chill_c(temperature, np.array([4.79, 4.81]) / 3.6)
    assert below == pytest.approx(above, abs=0.05)
    assert derived.wind_chill_c(temperature, 0.0) == temperature


@law
@given(temperature=temperatures, humidity=humidities)
def test_dew_point_there_and_back(temperature: float, humidity: float) -> None:
    dew_point = derived.dew_point_c(temperature, humidity)
    assert dew_point <= temperature + 1e-9
    assert derived.humidity_pct(temperature, dew_point) == pytest.approx(humidity, rel=1e-6)


@law
@given(temperature=st.floats(1, 45), humidity=humidities)
def test_wet_bulbs_lie_in_order_and_solve_their_equation(temperature: float, humidity: float) -> None:
    wet = float(derived.wet_bulb_c(temperature, humidity))
    natural = float(derived.natural_wet_bulb_c(temperature, humidity))
    assert derived.dew_point_c(temperature, humidity) - 0.01 <= wet <= natural + 1e-9 <= temperature + 2e-9
    vapour = derived.saturation_hpa(wet) - 6.53e-4 * 1013.25 * (temperature - wet)
    assert vapour == pytest.approx(derived.saturation_hpa(temperature) * humidity / 100, abs=1e-6)


@law
@given(temperature=st.floats(1, 40), humidity=humidities, offset=st.floats(0, 15))
def test_a_warmer_nacelle_is_hotter_but_drier(temperature: float, humidity: float, offset: float) -> None:
    outside, inside = derived.wbgt_c(temperature, humidity), derived.wbgt_c(temperature, humidity, offset)
    assert outside - 1e-9 <= inside <= derived.wbgt_c(temperature + offset, humidity) + 1e-9


def test_still_air_is_the_hotter_guess() -> None:
    assert np.all(np.diff([float(derived.wbgt_c(32, 50, air_mps=air)) for air in (0.0, 0.3, 1.0, 3.5)]) < 0)


def test_ice_wants_cold_and_moist_air() -> None:
    found = derived.icing_pct([1.0, 1.1, -5.0, -5.0, NAN, -5.0], [95.0, 99.0, 94.9, 100.0, 99.0, NAN])
    assert found.tolist()[:4] == [100.0, 0.0, 0.0, 100.0]
    assert np.isnan(found[4:]).all()


@pytest.mark.parametrize("humidity", [NAN, 0.0, -1.0, 100.5])
def test_what_is_unknown_stays_unknown(humidity: float) -> None:
    for work_out in (derived.dew_point_c, derived.wet_bulb_c, derived.wbgt_c, derived.icing_pct):
        assert np.isnan(work_out(20.0, humidity))
        assert np.isnan(work_out(NAN, 50.0))
    assert np.isnan(derived.wind_chill_c(NAN, 5.0))
    assert np.isnan(derived.wind_chill_c([-5.0, 20.0], NAN)).all()
    assert np.isnan(derived.dew_point_spread_c(5.0, NAN))


def test_members_and_slots_broadcast() -> None:
    wind, temperature = np.full((3, 20, 8), 10.0), np.full((1, 8), -5.0)
    assert derived.wind_chill_c(temperature, wind).shape == (3, 20, 8)


@law
@given(wbgt=st.floats(15, 40), kind=st.integers(0, 4), used=st.booleans())
def test_hotter_harder_or_unused_to_it_never_allows_more_work(wbgt: float, kind: int, used: bool) -> None:
    share = float(work_rest_share(wbgt, kind, used))
    assert share in (*SHARES, 0.0)
    assert work_rest_share(wbgt + 1, kind, used) <= share
    assert work_rest_share(wbgt, min(4, kind + 1), used) <= share
    assert work_rest_share(wbgt, kind, False) <= work_rest_share(wbgt, kind, True)
    if share:
        assert wbgt <= reference_wbgt_c(kind, used, share)


def test_shares_step_down_as_it_gets_hotter() -> None:
    found = work_rest_share([27.9, 28.0, 28.1, 29.0, 30.0, 31.0, NAN], 2, True)
    assert found[:6].tolist() == [1.0, 1.0, 0.75, 0.5, 0.25, 0.0]
    assert np.isnan(found[6])


def test_a_class_or_share_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="metabolic_class: 5 is not known; give 0"):
        work_rest_share(28.0, 5, True)
    with pytest.raises(ValueError, match="share of work from 0 to 1"):
        reference_wbgt_c(2, True, 1.5)
