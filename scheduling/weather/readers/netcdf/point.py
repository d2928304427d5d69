"""Which point of a grid: the one nearest to a stated place, with the distance told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import Question, RecipeIncomplete
from scheduling.weather.series import FloatArray

if TYPE_CHECKING:
    import xarray

LATITUDE, LONGITUDE = "latitude", "longitude"
EARTH_KM = 6371.0088
#: A file of one point (a mast, a cut) serves a place this near; common practice, no source.
ALONE_KM = 50.0
_NAMES = {LATITUDE: ("latitude", "lat", "nav_lat", "xlat"), LONGITUDE: ("longitude", "lon", "nav_lon", "xlong")}
_UNITS = {LATITUDE: ("degrees_north", "degree_north"), LONGITUDE: ("degrees_east", "degree_east")}


@dataclass(frozen=True, eq=False)
class Points:
    """The points of a grid: `latitude`, `longitude` float64 [points] in degrees; `dims` and `shape` of the flat order."""

    dims: tuple[str, ...]
    shape: tuple[int, ...]
    latitude: FloatArray
    longitude: FloatArray

    def index(self, number: int) -> dict[str, int]:
        """The index of a point along each dimension."""
        return {dim: int(at) for dim, at in zip(self.dims, np.unravel_index(number, self.shape), strict=True)}


def points_of(variable: xarray.DataArray) -> Points | None:
    """The points a variable is given at; None when it has no latitude and longitude."""
    found = {kind: _coordinate(variable, kind) for kind in (LATITUDE, LONGITUDE)}
    north, east = found[LATITUDE], found[LONGITUDE]
    if north is None or east is None:
        return None
    dims = tuple(dict.fromkeys((*north.dims, *east.dims)))
    if not set(dims) <= set(variable.dims):
        return None
    sizes = {dim: variable.sizes[dim] for dim in dims}
    grids = [_spread(one, dims, sizes) for one in (north, east)]
    return Points(tuple(map(str, dims)), tuple(sizes.values()), *grids)


def nearest(points: Points, only: dict[str, str]) -> tuple[dict[str, int], str]:
    """(index of the point nearest to the stated place, a sentence that names it and its distance).

    Raises RecipeIncomplete when there are several points and no place is stated; ReadRefused when it is no
    number or lies off the grid.
    """
    if LATITUDE not in only or LONGITUDE not in only:
        if len(points.latitude) > 1:
            raise RecipeIncomplete(point_questions(points))
        return points.index(0), f"Point {_place(points.latitude[0], points.longitude[0])}."
    north, east = (_degrees(only, kind) for kind in (LATITUDE, LONGITUDE))
    away = distance_km(north, east, points.latitude, points.longitude)
    number = int(np.argmin(away))
    told = _place(points.latitude[number], points.longitude[number])
    if away[number] > _reach_km(points, number):
        far = f"{_place(north, east)} lies {away[number]:,.0f} km from the nearest grid point, {told}"
        raise ReadRefused(f"{far}; the file covers {_extent(points)}.")
    return points.index(number), f"Grid point {told}, {away[number]:.1f} km from {_place(north, east)}."


def point_questions(points: Points) -> tuple[Question, ...]:
    """What to ask when a file has several points."""
    many = f"The file has {len(points.latitude):,} grid points, {_extent(points)}."
    return tuple(Question(f"only.{kind}", f"{many} At which {kind}, in degrees?") for kind in (LATITUDE, LONGITUDE))


def distance_km(latitude: float, longitude: float, to_latitude: Any, to_longitude: Any) -> FloatArray:
    """Great-circle distance, haversine on a sphere of 6371.0088 km (mean radius, IUGG)."""
    north, south = np.radians(latitude), np.radians(np.asarray(to_latitude, dtype=np.float64))
    turn = np.radians(np.asarray(to_longitude, dtype=np.float64) - longitude)
    half = np.sin((south - north) / 2) ** 2 + np.cos(north) * np.cos(south) * np.sin(turn / 2) ** 2
    away: FloatArray = 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return away


def _coordinate(variable: xarray.DataArray, kind: str) -> xarray.DataArray | None:
    one: xarray.DataArray
    for name, one in variable.coords.items():
        said = str(one.attrs.get("standard_name", "")).lower(), str(one.attrs.get("units", "")).lower()
        if said[0] == kind or said[1] in _UNITS[kind] or str(name).lower() in _NAMES[kind]:
            return one
    return None


def _spread(one: xarray.DataArray, dims: tuple[Any, ...], sizes: dict[Any, int]) -> FloatArray:
    """A coordinate over all points of the grid, flat."""
    wide = one.expand_dims({dim: size for dim, size in sizes.items() if dim not in one.dims}).transpose(*dims)
    return np.asarray(wide.values, dtype=np.float64).ravel()


def _reach_km(points: Points, number: int) -> float:
    """How far a place may lie from its grid point: as far as the next one, so that it lies on the grid."""
    others = np.delete(distance_km(points.latitude[number], points.longitude[number], points.latitude, points.longitude), number)
    others = others[others > 0.001]
    return float(others.min()) if len(others) else ALONE_KM


def _degrees(only: dict[str, str], kind: str) -> float:
    limit = 90.0 if kind == LATITUDE else 360.0
    try:
        value = float(only[kind])
    except ValueError:
        value = np.nan
    if not abs(value) <= limit:
        raise ReadRefused(f"only.{kind}: {only[kind]!r} is no {kind} in degrees, such as 54.25")
    return value


def _place(latitude: float, longitude: float) -> str:
    east = _east(longitude)
    return f"{abs(latitude):.3f} {'N' if latitude >= 0 else 'S'} {abs(east):.3f} {'E' if east >= 0 else 'W'}"


def _extent(points: Points) -> str:
    east = _east(points.longitude)
    return " to ".join(_place(end(points.latitude), end(east)) for end in (np.nanmin, np.nanmax))


def _east(longitude: Any) -> Any:
    """Degrees from -180 to 180; files may count to 360."""
    return (longitude + 180.0) % 360.0 - 180.0
