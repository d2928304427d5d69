"""Forecast JSON: lists of times with values and units beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from scheduling.weather import quality
from scheduling.weather.readers.grid import Grid, duplicates, gaps
from scheduling.weather.readers.json_series.columns import Timed, timed_column
from scheduling.weather.readers.json_series.document import parse_document
from scheduling.weather.readers.json_series.issued import issue_time
from scheduling.weather.readers.json_series.lay import Laid, all_slots, grid_of
from scheduling.weather.readers.report import Reading, ReadRefused, ReadReport, quality_runs
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import Flag, Series


def read_json(data: bytes, recipe: Recipe) -> Reading:
    """Read forecast or observation JSON into series on one UTC grid, the finest step of the file.

    Columns and times are paths (see `paths.py`). Instants at longer steps than the grid's are flagged COARSE;
    an interval stands for each step inside it. Raises ReadRefused (a ValueError) with item, value and cure.
    """
    if not recipe.time_columns or not recipe.time_format:
        raise ReadRefused("time_columns and time_format: state the path of the time and how it is written")
    document = parse_document(data, recipe.encoding)
    columns = [timed_column(document, one, recipe) for one in recipe.columns]
    grid, laid = grid_of(columns, recipe)
    series = tuple(map(_not_stuck, quality.check([one.series for one in laid]), laid))
    return Reading(series, _report(columns, grid, laid, series), issue_time(document))


def _not_stuck(series: Series, laid: Laid) -> Series:
    """A value that the file itself gives for an interval of several steps is no stuck and no frozen sensor."""
    flags = series.flags.copy()
    flags[laid.spread] &= ~np.uint16(Flag.STUCK | Flag.ICING)
    return replace(series, flags=flags)


def _report(columns: Sequence[Timed], grid: Grid, laid: Sequence[Laid], series: tuple[Series, ...]) -> ReadReport:
    lists = {one.list_name: number for number, one in enumerate(columns)}
    seen = np.concatenate(list(all_slots(laid)))
    return ReadReport(
        rows_read=sum(columns[number].times.total for number in lists.values()),
        rows_skipped=sum(_skipped([one for one in columns if one.list_name == name]) for name in lists),
        first=grid.start,
        last=grid.time(grid.steps - 1),
        step_min=grid.step_s // 60,
        gaps=gaps(replace(grid, slot=seen)),
        duplicates=sum(duplicates(replace(grid, slot=laid[number].slots)) for number in lists.values()),
        conflicts=tuple(conflict for one in laid for conflict in one.conflicts),
        flags=quality_runs(series),
        notes=tuple(note for one in columns for note in one.notes),
    )


def _skipped(columns: Sequence[Timed]) -> int:
    """Items without a time, and items without any value."""
    times = columns[0].times
    empty = np.isnan(np.array([one.values for one in columns])).all(axis=0)
    return times.total - len(times.items) + int(empty.sum())
