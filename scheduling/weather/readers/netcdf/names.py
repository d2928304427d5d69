"""What the variables of a NetCDF file are: by CF standard name, else by a short name of a weather model."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduling.weather.readers.named import height_in, variable_of
from scheduling.weather.readers.report import ReadRefused

if TYPE_CHECKING:
    import xarray

#: CF standard name -> variable; "u" and "v" are the components towards east and north.
STANDARD_NAMES = {
    "wind_speed": "wind",
    "wind_speed_of_gust": "gust",
    "wind_from_direction": "direction",
    "air_temperature": "temperature",
    "dew_point_temperature": "dew_point",
    "surface_air_pressure": "pressure",
    "air_pressure": "pressure",
    "relative_humidity": "humidity",
    "visibility_in_air": "visibility",
    "sea_surface_wave_significant_height": "wave_height",
    "sea_surface_wave_mean_period": "wave_period",
    "eastward_wind": "u",
    "northward_wind": "v",
    "x_wind": "u",
    "y_wind": "v",
}
#: u10, v100, 10u, u10m; si10 and ws10 are speeds, i10fg and fg10 gusts.
_SHORT = re.compile(
    r"(?P<kind>u|v|si|ws|fg)_?(?P<after>\d{1,3})m?|(?P<before>\d{1,3})(?P<kind2>u|v|si|fg)|i(?P<inside>\d{1,3})fg"
)
_KINDS = {"u": "u", "v": "v", "si": "wind", "ws": "wind", "fg": "gust"}
_COLUMN = re.compile(
    r"(?:(?P<how>speed|direction)\((?P<u>[^,()\[\]]+),(?P<v>[^,()\[\]]+)\)|(?P<name>[^,()\[\]]+))(?:\[(?P<dim>[^=\]]+)=(?P<at>[^\]]+)\])?"
)


@dataclass(frozen=True)
class Wanted:
    """A column of a recipe: one variable as it is, or the speed or direction of two components, at one level of a
    dimension if it says so.
    """

    names: tuple[str, ...]
    how: str = ""
    level: tuple[str, str] | None = None


def parse_column(text: str) -> Wanted:
    """Read `swh`, `speed(u100, v100)`, `direction(u, v)[height=100]`. Raises ReadRefused on anything else."""
    found = _COLUMN.fullmatch(text.strip())
    if found is None:
        raise ReadRefused(f"column {text!r}: write the name of a variable, or speed(u, v) or direction(u, v) of two components")
    names = (found["name"],) if found["name"] else (found["u"], found["v"])
    level = (found["dim"].strip(), found["at"].strip()) if found["dim"] else None
    return Wanted(tuple(name.strip() for name in names), found["how"] or "", level)


def kind_of(variable: xarray.DataArray) -> str | None:
    """The variable, or "u" or "v"; a standard name outranks the short one."""
    standard = variable.attrs.get("standard_name")
    if standard:
        return STANDARD_NAMES.get(str(standard))
    found = _SHORT.fullmatch(str(variable.name))
    if found is not None:
        return _KINDS[found["kind"] or found["kind2"] or "fg"]
    return {"u": "u", "v": "v"}.get(str(variable.name)) or variable_of(str(variable.name))


def height_of(variable: xarray.DataArray) -> tuple[float, str] | None:
    """(height in metres, where the file says so): a height coordinate of one value, else the names."""
    stated = level_m(variable)
    if stated is not None:
        return stated
    found = _SHORT.fullmatch(str(variable.name))
    if found is not None:
        return float(found["after"] or found["before"] or found["inside"]), f"the name {variable.name}"
    for text in (str(variable.name), str(variable.attrs.get("long_name", ""))):
        height = height_in(text)
        if height is not None:
            return height, f"the name {text}"
    return None


def level_m(variable: xarray.DataArray) -> tuple[float, str] | None:
    """(height in metres, where) of a height coordinate with a single value; None without one."""
    for name, one in variable.coords.items():
        if one.size == 1 and is_height(one):
            return float(one.values.ravel()[0]), f"the coordinate {name}"
    return None


def is_height(coordinate: xarray.DataArray) -> bool:
    """Whether a coordinate says the height above ground in metres."""
    named = coordinate.attrs.get("standard_name") == "height" or str(coordinate.name).lower() in ("height", "heightaboveground")
    return named and str(coordinate.attrs.get("units", "")) in ("m", "metre", "metres", "meter", "meters")
