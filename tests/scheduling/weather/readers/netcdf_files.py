"""Small datasets and recipes for the tests of NetCDF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import xarray

from scheduling.weather.recipe import Recipe, recipe_from_json

HOURS = {"units": "hours since 2025-06-02 00:00:00", "standard_name": "time"}


def column(name: str, variable: str = "wind", **changes: Any) -> dict[str, Any]:
    """A column of a recipe: the unit in the file, 10 m, 10 min means; then the changes."""
    return {"column": name, "variable": variable, "unit": "in text", "height_m": 10, "averaging_min": 10} | changes


def recipe(*columns: dict[str, Any], **changes: Any) -> Recipe:
    """A recipe of these columns, stamps at the start; then the changes."""
    plain = {"name": "hand-made", "reader": "netcdf", "columns": list(columns), "stamp": "start", "zone": "UTC"}
    return recipe_from_json(plain | changes)


def dataset(values: Any, dims: tuple[str, ...] = ("time",), *, name: str = "ws", **attrs: Any) -> xarray.Dataset:
    """One variable with hours from 2 June 2025 00:00 UTC along `time`."""
    array = np.asarray(values, dtype=np.float64)
    found = xarray.Dataset({name: (dims, array, {"units": "m s-1"} | attrs)})
    return found.assign_coords(time=("time", np.arange(array.shape[dims.index("time")]), HOURS))


def grid(latitudes: list[float], longitudes: list[float], values: Any) -> xarray.Dataset:
    """`ws` [time, latitude, longitude]."""
    found = dataset(values, ("time", "lat", "lon"))
    north, east = {"units": "degrees_north"}, {"units": "degrees_east"}
    return found.assign_coords(lat=("lat", latitudes, north), lon=("lon", longitudes, east))


def packed(data: xarray.Dataset, folder: Path, engine: str = "h5netcdf") -> bytes:
    """The bytes of a NetCDF-4 file (engine h5netcdf) or a classic one (scipy)."""
    path = folder / "weather.nc"
    data.to_netcdf(path, engine=engine)
    return path.read_bytes()
