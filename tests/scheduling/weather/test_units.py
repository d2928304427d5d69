from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.weather.units import VARIABLES, from_kept, to_kept, unit_choices

PAIRS = [(variable, unit) for variable in VARIABLES for unit in unit_choices(variable)]


@settings(max_examples=100, deadline=None, derandomize=True)
@given(pair=st.sampled_from(PAIRS), value=st.floats(-1e4, 1e4))
def test_there_and_back_is_the_same_value(pair: tuple[str, str], value: float) -> None:
    variable, unit = pair
    assert from_kept(to_kept(value, unit, variable), unit, variable) == pytest.approx(value, abs=1e-8)


def test_known_points() -> None:
    assert to_kept(36.0, "km/h", "wind") == pytest.approx(10.0)
    assert to_kept(273.15, "K", "temperature") == pytest.approx(0.0)
    assert to_kept(212.0, "degF", "temperature") == pytest.approx(100.0)
    assert to_kept(101.325, "kPa", "pressure") == pytest.approx(101325.0)
    assert to_kept(0.5, "fraction", "humidity") == 50.0


def test_how_far_two_temperatures_lie_apart_has_no_freezing_point() -> None:
    assert [to_kept(9.0, unit, "dew_point_spread") for unit in ("degC", "K", "degF")] == pytest.approx([9.0, 9.0, 5.0])


def test_arrays_keep_their_missing_values() -> None:
    out = to_kept(np.array([36.0, np.nan]), "km/h", "gust")
    assert out[0] == pytest.approx(10.0)
    assert np.isnan(out[1])


@pytest.mark.parametrize("unit", ["KM/H", "knots", "", "degC", "ms"])
def test_unknown_or_foreign_unit_is_refused_with_the_choices(unit: str) -> None:
    with pytest.raises(ValueError, match="choose one of m/s, km/h, kn, mph"):
        to_kept(1.0, unit, "wind")
    with pytest.raises(ValueError, match="choose one of m/s"):
        from_kept(1.0, unit, "wind")


def test_unknown_variable_is_refused_with_the_choices() -> None:
    with pytest.raises(ValueError, match="variable 'windspeed' is not known; choose one of wind, gust"):
        to_kept(1.0, "m/s", "windspeed")
