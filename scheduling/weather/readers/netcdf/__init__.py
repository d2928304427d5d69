"""NetCDF that follows CF: units, heights, times and members from the file's own words."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from scheduling.weather.readers.netcdf.columns import timed_columns
from scheduling.weather.readers.netcdf.opening import opened
from scheduling.weather.readers.netcdf.times import is_time, utc_seconds
from scheduling.weather.readers.report import Reading
from scheduling.weather.readers.timed import reading_of
from scheduling.weather.recipe import Recipe

if TYPE_CHECKING:
    import xarray


def read_netcdf(data: bytes, recipe: Recipe) -> Reading:
    """Read variables of a NetCDF file at one point into series on one UTC grid; an ensemble gives one a member.

    A column is the name of a variable, `speed(u, v)` or `direction(u, v)`, with `[height=100]` behind it where
    there are several. The point is the one nearest to `only.latitude` and `only.longitude`. Raises ReadRefused
    (a ValueError) with variable and cure, RecipeIncomplete when a point, level or time must be chosen.
    """
    with opened(data) as dataset:
        columns = [one for column in recipe.columns for one in timed_columns(dataset, column, recipe)]
        return reading_of(columns, recipe, issued_at=issue_time(dataset))


def issue_time(dataset: xarray.Dataset) -> datetime | None:
    """The forecast's reference time, UTC, where the file has a single one."""
    for name, one in dataset.variables.items():
        if one.attrs.get("standard_name") == "forecast_reference_time" and one.size == 1:
            array = dataset[name]
            if is_time(array):
                seconds = utc_seconds(array.values.ravel(), array.attrs, str(name))
                return datetime.fromtimestamp(int(seconds[0]), tz=UTC)
    return None
