"""Units of weather, by exact definitions only.

What is stored is always the variable's own unit of VARIABLES.
"""

from __future__ import annotations

from typing import Any, TypeVar

from numpy.typing import NDArray

Number = TypeVar("Number", float, NDArray[Any])

#: variable -> the unit it is kept in
VARIABLES: dict[str, str] = {
    "wind": "m/s",
    "gust": "m/s",
    "direction": "deg",
    "temperature": "degC",
    "dew_point": "degC",
    "pressure": "Pa",
    "humidity": "%",
    "rain": "mm/h",
    "visibility": "m",
    "lightning_distance": "m",
    "lightning_probability": "%",
    "wave_height": "m",
    "wave_period": "s",
    "wind_chill": "degC",
    "wbgt": "degC",
    "work_share": "%",
    "dew_point_spread": "degC",
    "icing_probability": "%",
}

#: Variables that say how far two temperatures lie apart: 1 K of them is 1 degC, and 0 K no freezing point.
DIFFERENCES = frozenset({"dew_point_spread"})

#: unit -> (kind, factor, offset): kept value = value * factor + offset
_UNITS: dict[str, tuple[str, float, float]] = {
    "m/s": ("m/s", 1.0, 0.0),
    "km/h": ("m/s", 1.0 / 3.6, 0.0),
    "kn": ("m/s", 1852.0 / 3600.0, 0.0),
    "mph": ("m/s", 0.44704, 0.0),
    "degC": ("degC", 1.0, 0.0),
    "K": ("degC", 1.0, -273.15),
    "degF": ("degC", 5.0 / 9.0, -160.0 / 9.0),
    "Pa": ("Pa", 1.0, 0.0),
    "hPa": ("Pa", 100.0, 0.0),
    "kPa": ("Pa", 1000.0, 0.0),
    "deg": ("deg", 1.0, 0.0),
    "%": ("%", 1.0, 0.0),
    "fraction": ("%", 100.0, 0.0),
    "mm/h": ("mm/h", 1.0, 0.0),
    "m": ("m", 1.0, 0.0),
    "km": ("m", 1000.0, 0.0),
    "ft": ("m", 0.3048, 0.0),
    "s": ("s", 1.0, 0.0),
}


def unit_choices(variable: str) -> tuple[str, ...]:
    """The units a variable may be given in. Raises ValueError on an unknown variable, listing those known."""
    if variable not in VARIABLES:
        raise ValueError(f"variable {variable!r} is not known; choose one of {', '.join(VARIABLES)}")
    kept = VARIABLES[variable]
    return tuple(name for name, (kind, _, _) in _UNITS.items() if kind == kept)


def to_kept(value: Number, unit: str, variable: str) -> Number:
    """Convert a value or array from `unit` to the unit `variable` is kept in (m/s, degC, Pa, ...).

    Knot: 1852/3600 m/s; mile an hour: 0.44704 m/s; both exact by definition. Raises ValueError when the unit
    is unknown or of another kind, listing the choices. Units are spelled exactly: "KM/H" is not taken for
    "km/h".
    """
    factor, offset = _factor_offset(unit, variable)
    return value * factor + offset


def from_kept(value: Number, unit: str, variable: str) -> Number:
    """The way back: a kept value or array in `unit`. Raises ValueError like `to_kept`."""
    factor, offset = _factor_offset(unit, variable)
    return (value - offset) / factor


def _factor_offset(unit: str, variable: str) -> tuple[float, float]:
    choices = unit_choices(variable)
    if unit not in choices:
        raise ValueError(f"unit {unit!r} does not fit {variable}; choose one of {', '.join(choices)}")
    _, factor, offset = _UNITS[unit]
    return factor, 0.0 if variable in DIFFERENCES else offset
