from __future__ import annotations

import pytest

from scheduling.weather.readers.named import height_in, variable_of
from scheduling.weather.readers.unit_texts import unit_of
from scheduling.weather.units import VARIABLES, unit_choices


@pytest.mark.parametrize(
    ("text", "variable", "unit"),
    [
        ("unit:m_s-1", "wind", "m/s"),
        ("wmoUnit:km_h-1", "gust", "km/h"),
        ("m s**-1", "wind", "m/s"),
        ("m s-1", "wind", "m/s"),
        ("KM/H", "wind", "km/h"),
        ("knots", "wind", "kn"),
        ("K", "temperature", "K"),
        ("celsius", "temperature", "degC"),
        ("F", "temperature", "degF"),
        ("unit:degree_(angle)", "direction", "deg"),
        ("Degree true", "direction", "deg"),
        ("hPa", "pressure", "hPa"),
        ("1", "humidity", "fraction"),
        ("wmoUnit:percent", "humidity", "%"),
        ("nwsUnit:s", "wave_period", "s"),
        ("mm", "rain", None),
        ("celsius", "wind", None),
        ("furlongs", "wind", None),
        ("", "wind", None),
    ],
)
def test_units_as_files_spell_them(text: str, variable: str, unit: str | None) -> None:
    assert unit_of(text, variable) == unit


def test_our_own_names_of_units_are_all_known() -> None:
    for variable in VARIABLES:
        assert [unit_of(name, variable) for name in unit_choices(variable)] == list(unit_choices(variable))


@pytest.mark.parametrize(
    ("name", "variable", "height"),
    [
        ("WS10m", "wind", 10.0),
        ("wind_speed_100m", "wind", 100.0),
        ("windSpeed", "wind", None),
        ("wind_from_direction", "direction", None),
        ("T2m", "temperature", 2.0),
        ("10 metre wind gust", "gust", 10.0),
        ("air_temperature_max", None, None),
        ("air_pressure_at_sea_level", None, None),
        ("t", None, None),
        ("swh", "wave_height", None),
        ("wind_10m_to_50m", None, None),
    ],
)
def test_a_name_tells_a_variable_and_a_height_or_nothing(name: str, variable: str | None, height: float | None) -> None:
    assert (variable_of(name), height_in(name)) == (variable, height)
