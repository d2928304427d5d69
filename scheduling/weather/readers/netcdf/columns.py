"""One column of a recipe out of a dataset: cut to a point and a level, with its times and members."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduling.weather.readers.grid import MAX_STEPS
from scheduling.weather.readers.netcdf.names import Wanted, level_m, parse_column
from scheduling.weather.readers.netcdf.point import LATITUDE, LONGITUDE, nearest, points_of
from scheduling.weather.readers.netcdf.times import is_time, utc_seconds
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.timed import Seconds, Timed, Times
from scheduling.weather.readers.unit_texts import agreed_unit, stated_unit, unit_of
from scheduling.weather.recipe import Column, Question, Recipe, RecipeIncomplete
from scheduling.weather.series import FloatArray
from scheduling.weather.units import to_kept

if TYPE_CHECKING:
    import xarray

MEMBER_DIMS = ("number", "realization", "member", "ensemble", "ensemble_member", "ens")


@dataclass(frozen=True, eq=False)
class Cut:
    """A variable cut down: `values` float64 [n, members] over `seconds` [n]; `notes` say what was cut how."""

    values: FloatArray
    seconds: Seconds
    time_name: str
    members: int
    note: str


def timed_columns(dataset: xarray.Dataset, column: Column, recipe: Recipe) -> list[Timed]:
    """A column as one Timed, or as one a member. Raises ReadRefused naming variable and cure, RecipeIncomplete
    when a point or level must be chosen.
    """
    wanted = parse_column(column.column)
    cuts = [_cut(dataset, name, wanted, column, recipe) for name in wanted.names]
    first = cuts[0]
    units = {str(dataset[name].attrs.get("units", "")) for name in wanted.names}
    if len(units) > 1:
        raise ReadRefused(f"{column.column}: its two components are in {' and '.join(sorted(units))}; convert one of them")
    if any(one.values.shape != first.values.shape or (one.seconds != first.seconds).any() for one in cuts[1:]):
        raise ReadRefused(f"{column.column}: its two components lie on different times or members; they make no wind")
    values = _combined(wanted, [one.values for one in cuts])
    if not np.isfinite(values).any():
        raise ReadRefused(f"{column.column} has no value at all there. {first.note} Choose another point or leave it out.")
    times = Times(np.arange(len(first.seconds)), first.seconds, None, len(first.seconds))
    numbers = range(1, first.members + 1) if first.members else (0,)
    notes = (first.note,) if first.note else ()
    return [Timed(column, times, values[:, max(0, at - 1)], first.time_name, at, notes=notes) for at in numbers]


def variable_named(dataset: xarray.Dataset, name: str) -> xarray.DataArray:
    """A variable of the file. Raises ReadRefused when there is none of this name."""
    if name not in dataset.data_vars:
        raise ReadRefused(f"variable {name!r} is not in the file; it has {', '.join(map(str, dataset.data_vars))}")
    return dataset[name]


def _cut(dataset: xarray.Dataset, name: str, wanted: Wanted, column: Column, recipe: Recipe) -> Cut:
    variable, note = _at_point(variable_named(dataset, name), recipe.only)
    member = member_dim(variable)
    time = time_of(variable, recipe.time_columns)
    levels = {dim: text for dim, text in recipe.only.items() if dim not in (LATITUDE, LONGITUDE)}
    variable = _at_level(variable, levels | dict([wanted.level] if wanted.level else []), {str(time.dims[0]), member})
    _same_height(variable, column)
    if variable.size > MAX_STEPS:
        raise ReadRefused(f"{name} has {variable.size:,} values at one point; at most {MAX_STEPS:,} are read. Split it by time.")
    order = (time.dims[0], member) if member else time.dims
    values = np.asarray(variable.transpose(*order).values, dtype=np.float64).reshape(time.size, -1)
    unit = _unit(variable, column, wanted)
    members = values.shape[1] if member else 0
    return Cut(_known(values, unit, column, recipe), _seconds(dataset, time, recipe), str(time.name), members, note)


def _known(values: FloatArray, unit: str, column: Column, recipe: Recipe) -> FloatArray:
    """Values in the kept unit; sentinels that the recipe names are missing."""
    for text in (*recipe.missing, *column.missing):
        sentinel = _number(text)
        if sentinel is not None:
            values[values == sentinel] = np.nan
    return to_kept(values, unit, column.variable)


def _same_height(variable: xarray.DataArray, column: Column) -> None:
    stated = level_m(variable)
    if stated is not None and abs(stated[0] - column.height_m) > 0.01:
        raise ReadRefused(
            f"{column.column}: the file says {stated[0]:g} m ({stated[1]}), the recipe {column.height_m:g} m; correct it"
        )


def _at_point(variable: xarray.DataArray, only: dict[str, str]) -> tuple[xarray.DataArray, str]:
    points = points_of(variable)
    if points is None:
        return variable, ""
    index, note = nearest(points, only)
    return variable.isel(index), note


def member_dim(variable: xarray.DataArray) -> str | None:
    """The dimension of the ensemble's members, if the variable has one of several."""
    for dim in variable.dims:
        standard = variable.coords[dim].attrs.get("standard_name") if dim in variable.coords else None
        if (standard == "realization" or str(dim).lower() in MEMBER_DIMS) and variable.sizes[dim] > 1:
            return str(dim)
    return None


def time_of(variable: xarray.DataArray, names: tuple[str, ...]) -> xarray.DataArray:
    """The coordinate of one dimension that counts the times for which the values hold.

    Raises ReadRefused when there is none, or the times lie along two dimensions; RecipeIncomplete when there
    are several.
    """
    counted = {str(name): one for name, one in variable.coords.items() if is_time(one) and not _is_issue(one)}
    along = {name: one for name, one in counted.items() if one.ndim == 1 and set(one.dims) <= set(variable.dims)}
    if any(one.ndim > 1 for one in counted.values()):
        raise ReadRefused(f"{variable.name}: its times lie along two dimensions (several runs); cut the file to one run.")
    if names:
        along = {name: one for name, one in along.items() if name in names}
    if not along:
        raise ReadRefused(f"{variable.name}: it has no time of its own (counted as 'hours since ...'); check time_columns")
    if len(along) > 1:
        raise RecipeIncomplete((Question("time_columns", f"Which times does {variable.name} hold for?", tuple(along)),))
    found: xarray.DataArray = next(iter(along.values()))
    return found


def _is_issue(coordinate: xarray.DataArray) -> bool:
    return coordinate.attrs.get("standard_name") == "forecast_reference_time"


def _at_level(variable: xarray.DataArray, levels: dict[str, str], kept: set[str | None]) -> xarray.DataArray:
    """One value of every dimension that is neither time nor member."""
    for dim in map(str, variable.dims):
        if dim in kept:
            continue
        coordinate = variable.coords[dim].values if dim in variable.coords else np.arange(variable.sizes[dim])
        if dim in levels:
            variable = variable.isel({dim: _index_at(coordinate, dim, levels[dim])})
        elif variable.sizes[dim] == 1:
            variable = variable.isel({dim: 0})
        else:
            choices = tuple(_shown(one) for one in coordinate[:12])
            raise RecipeIncomplete((Question(f"only.{dim}", f"Which {dim} of {variable.name}?", choices),))
    return variable


def _index_at(coordinate: Any, dim: str, text: str) -> int:
    for at, one in enumerate(coordinate):
        if _shown(one) == text or (_number(text) is not None and _number(_shown(one)) == _number(text)):
            return at
    raise ReadRefused(f"only.{dim}: the file has no {dim} {text!r}; it has {', '.join(_shown(one) for one in coordinate[:12])}")


def _shown(value: Any) -> str:
    number = _number(str(value))
    return f"{number:g}" if number is not None else str(value)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _unit(variable: xarray.DataArray, column: Column, wanted: Wanted) -> str:
    text = str(variable.attrs.get("units", "")).strip()
    place = f"variable {variable.name}"
    if wanted.how == "direction":
        if column.variable != "direction" or unit_of(text, "wind") is None:
            raise ReadRefused(
                f"{column.column}: it makes the direction of the wind, of components in a unit of speed, not {text!r}"
            )
        return "deg"
    if wanted.how == "speed" and column.variable not in ("wind", "gust"):
        raise ReadRefused(f"{column.column}: it makes the speed of the wind, not {column.variable}")
    return agreed_unit(text, column, place) if text else stated_unit(column, place)


def _seconds(dataset: xarray.Dataset, time: xarray.DataArray, recipe: Recipe) -> Seconds:
    """The start of each step where the file gives its bounds, else the stamps as the recipe reads them."""
    if recipe.zone != "UTC":
        raise ReadRefused(f"zone: NetCDF counts its times in UTC; state 'UTC' instead of {recipe.zone!r}")
    bounds = bounds_of(dataset, time)
    if bounds is None:
        return utc_seconds(time.values, time.attrs, str(time.name))
    if recipe.stamp != "start":
        raise ReadRefused(f"stamp: the file gives the bounds of each step itself ({bounds.name}); state 'start'")
    return utc_seconds(bounds.values[:, 0], time.attrs, str(bounds.name))


def bounds_of(dataset: xarray.Dataset, time: xarray.DataArray) -> xarray.DataArray | None:
    """The variable that holds start and end of each step, if the file has one."""
    name = time.attrs.get("bounds")
    found = dataset[name] if name in dataset.variables else None
    return found if found is not None and found.shape == (time.size, 2) else None


def _combined(wanted: Wanted, parts: list[FloatArray]) -> FloatArray:
    if wanted.how == "speed":
        return np.hypot(*parts)
    if wanted.how == "direction":
        # Where the wind comes from, north 0, east 90: against the way it blows.
        turned: FloatArray = np.degrees(np.arctan2(-parts[0], -parts[1])) % 360.0
        return turned
    return parts[0]
