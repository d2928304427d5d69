"""Delimited text (CSV and its relatives) by a recipe."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather import quality
from scheduling.weather.readers.grid import Grid, duplicates, gaps, lay_grid, place
from scheduling.weather.readers.numbers import parse_numbers
from scheduling.weather.readers.report import Conflict, Reading, ReadReport, quality_runs
from scheduling.weather.readers.stamps import to_utc_seconds
from scheduling.weather.readers.table import Table, read_table
from scheduling.weather.recipe import Column, Recipe
from scheduling.weather.series import BoolArray, FloatArray, Series
from scheduling.weather.units import to_kept


def read_delimited(data: bytes, recipe: Recipe) -> Reading:
    """Read delimited text into series on one UTC grid.

    Raises ReadRefused (a ValueError) with row, column, value and cure; see the recipe for what must be
    stated.
    """
    table = read_table(data, recipe)
    numbers = [parse_numbers(table.column(one.column), one.column, table.lines, recipe) for one in recipe.columns]
    seconds = to_utc_seconds(_stamps(table, recipe), table.lines, recipe.time_format, recipe.zone)
    grid = lay_grid(seconds, recipe.step_min, recipe.stamp)
    series, conflicts = _series(recipe, numbers, grid)
    checked = quality.check(series)
    empty: BoolArray = np.isnan(np.array(numbers)).all(axis=0) | (grid.slot < 0)
    report = ReadReport(
        rows_read=len(table.lines),
        rows_skipped=int(empty.sum()),
        first=grid.start,
        last=grid.time(grid.steps - 1),
        step_min=grid.step_s // 60,
        gaps=gaps(grid),
        duplicates=duplicates(grid),
        conflicts=conflicts,
        flags=quality_runs(checked),
    )
    return Reading(checked, report)


def _stamps(table: Table, recipe: Recipe) -> Sequence[str]:
    columns = [table.column(name) for name in recipe.time_columns]
    return columns[0] if len(columns) == 1 else [" ".join(parts) for parts in zip(*columns, strict=True)]


def _series(recipe: Recipe, numbers: list[FloatArray], grid: Grid) -> tuple[tuple[Series, ...], tuple[Conflict, ...]]:
    series: list[Series] = []
    conflicts: list[Conflict] = []
    for column, raw in zip(recipe.columns, numbers, strict=True):
        values, flags, clashes = place(grid, to_kept(raw, column.unit, column.variable), column.column)
        series.append(_one(column, grid, values, flags))
        conflicts.extend(clashes)
    return tuple(series), tuple(conflicts)


def _one(column: Column, grid: Grid, values: FloatArray, flags: np.ndarray) -> Series:
    return Series(
        variable=column.variable,
        height_m=float(column.height_m),
        averaging_min=float(column.averaging_min),
        start=grid.start,
        step_min=grid.step_s // 60,
        values=values,
        flags=flags,
        name=column.column,
    )
