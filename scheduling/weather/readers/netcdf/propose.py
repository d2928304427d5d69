"""What a NetCDF file says about itself, for the inspection."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.netcdf import issue_time
from scheduling.weather.readers.netcdf.columns import bounds_of, member_dim, time_of
from scheduling.weather.readers.netcdf.names import height_of, is_height, kind_of
from scheduling.weather.readers.netcdf.opening import is_gridded, opened
from scheduling.weather.readers.netcdf.point import point_questions, points_of
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.unit_texts import unit_of
from scheduling.weather.recipe import IN_TEXT, Question, RecipeIncomplete

if TYPE_CHECKING:
    import xarray


_HOW = {"wind": "speed", "direction": "direction"}


@dataclass
class _Draft:
    columns: list[dict[str, Any]] = field(default_factory=list)
    times: dict[str, xarray.DataArray] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    ask: dict[str, Question] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def propose_netcdf(content: bytes, name: str) -> Proposal | None:
    """The proposal for a NetCDF file; None for another kind. Raises ReadRefused for GRIB or a damaged file."""
    if not is_gridded(content):
        return None
    with opened(content) as dataset:
        draft = _Draft()
        for variable, members in _wanted(dataset):
            _add(draft, variable, members)
        if not draft.columns:
            raise ReadRefused(f"No weather variable is known by its name in it; it has {', '.join(map(str, dataset.data_vars))}.")
        return _proposal(draft, dataset)


def _wanted(dataset: xarray.Dataset) -> list[tuple[str, list[xarray.DataArray]]]:
    """(variable, the file's variables it is made of); components that belong together make wind and direction."""
    kinds: dict[str, list[xarray.DataArray]] = {}
    for name in dataset.data_vars:
        kind = kind_of(dataset[name])
        if kind is not None:
            kinds.setdefault(kind, []).append(dataset[name])
    found = [(kind, [one]) for kind, several in kinds.items() if kind not in ("u", "v") for one in several]
    for east in kinds.get("u", []):
        north = next((one for one in kinds.get("v", []) if one.dims == east.dims and _height_m(one) == _height_m(east)), None)
        if north is not None:
            found += [("wind", [east, north]), ("direction", [east, north])]
    return found


def _height_m(variable: xarray.DataArray) -> float | None:
    stated = height_of(variable)
    return stated[0] if stated is not None else None


def _add(draft: _Draft, variable: str, parts: list[xarray.DataArray]) -> None:
    first = parts[0]
    try:
        time = time_of(first, ())
    except RecipeIncomplete as error:
        draft.ask |= {question.field: question for question in error.ask}
        return
    except ReadRefused as error:
        draft.notes.append(str(error))
        return
    draft.times[str(time.name)] = time
    points = points_of(first)
    if points is not None and len(points.latitude) > 1:
        draft.ask |= {question.field: question for question in point_questions(points)}
    name = str(first.name) if len(parts) == 1 else f"{_HOW[variable]}({', '.join(str(one.name) for one in parts)})"
    _add_levels(draft, variable, name, first, {*time.dims, member_dim(first), *(points.dims if points else ())})


def _add_levels(draft: _Draft, variable: str, name: str, first: xarray.DataArray, taken: set[Any]) -> None:
    """One column, or one a height where the variable has several."""
    for dim in (dim for dim in first.dims if dim not in taken and first.sizes[dim] > 1):
        coordinate = first.coords.get(dim)
        if coordinate is not None and is_height(coordinate) and coordinate.size <= 30:
            for level in coordinate.values:
                _column(draft, variable, f"{name}[{dim}={level:g}]", first, (float(level), f"the coordinate {dim}"))
            return
        choices = tuple(str(one) for one in (coordinate.values[:12] if coordinate is not None else ()))
        draft.ask[f"only.{dim}"] = Question(f"only.{dim}", f"Which {dim} of {name}?", choices)
    _column(draft, variable, name, first, height_of(first))


def _column(draft: _Draft, variable: str, name: str, first: xarray.DataArray, height: tuple[float, str] | None) -> None:
    column: dict[str, Any] = {"column": name, "variable": variable}
    text = str(first.attrs.get("units", ""))
    measured = "wind" if "(" in name else variable
    if unit_of(text, measured) is not None:
        column["unit"] = IN_TEXT
        draft.sources[f"columns.{name}.unit"] = f"the file: {text}"
    elif text:
        draft.notes.append(f"{name}: the unit {text!r} is not known for {variable}.")
    if height is not None:
        column["height_m"] = height[0]
        draft.sources[f"columns.{name}.height_m"] = height[1]
    told = first.attrs.get("standard_name") or first.attrs.get("long_name") or first.name
    draft.sources[f"columns.{name}.variable"] = f"the name {told}"
    draft.columns.append(column)


def _proposal(draft: _Draft, dataset: xarray.Dataset) -> Proposal:
    recipe: dict[str, Any] = {"reader": "netcdf", "columns": draft.columns, "time_columns": list(draft.times), "zone": "UTC"}
    draft.sources["zone"] = "CF: times are counted in UTC"
    if draft.times and all(bounds_of(dataset, time) is not None for time in draft.times.values()):
        recipe["stamp"] = "start"
        draft.sources["stamp"] = "the file gives the bounds of each step"
    issued = issue_time(dataset)
    if issued is not None:
        draft.notes.append(f"The file states that it was issued at {issued:%Y-%m-%d %H:%M} UTC.")
    return Proposal(recipe, draft.sources, tuple(draft.ask.values()), tuple(draft.notes))
