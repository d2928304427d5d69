"""From columns with times of their own to a reading: one grid, quality flags, the account."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from scheduling.weather import quality
from scheduling.weather.readers.grid import Grid, duplicates, gaps
from scheduling.weather.readers.report import Reading, ReadReport, quality_runs
from scheduling.weather.readers.timed.columns import Seconds, Timed, Times
from scheduling.weather.readers.timed.lay import Laid, all_slots, grid_of
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import Flag, Series


def reading_of(
    columns: Sequence[Timed], recipe: Recipe, *, issued_at: datetime | None = None, notes: Sequence[str] = ()
) -> Reading:
    """Lay columns on the grid of the finest step and check them; members of an ensemble are no neighbours of each other.

    Instants at longer steps than the grid's are flagged COARSE; an interval stands for each step inside it.
    Raises ReadRefused when the times do not fit one grid.
    """
    grid, laid = grid_of(columns, recipe)
    checked: dict[int, Series] = {}
    for member in dict.fromkeys(one.member for one in columns):
        numbers = [number for number, one in enumerate(columns) if one.member == member]
        checked |= zip(numbers, quality.check([laid[number].series for number in numbers]), strict=True)
    series = tuple(_settled(checked[number], *pair) for number, pair in enumerate(zip(columns, laid, strict=True)))
    told = (*notes, *dict.fromkeys(note for one in columns for note in one.notes))
    return Reading(series, _report(columns, grid, laid, series, told), issued_at)


def _settled(series: Series, column: Timed, laid: Laid) -> Series:
    """Take back the rules for sensors where there is none: an interval's value is not stuck over the steps inside it, and
    drawn values can be outside what the variable can be but not spike.
    """
    flags = series.flags.copy()
    flags[laid.spread] &= ~np.uint16(Flag.STUCK | Flag.ICING)
    if column.drawn:
        flags = laid.series.flags | (flags & np.uint16(Flag.RANGE))
    return replace(series, flags=flags)


def _report(
    columns: Sequence[Timed], grid: Grid, laid: Sequence[Laid], series: tuple[Series, ...], notes: tuple[str, ...]
) -> ReadReport:
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
        notes=notes,
    )


def _skipped(columns: Sequence[Timed]) -> int:
    """Items without a time, and items without any value."""
    times = columns[0].times
    empty = np.isnan(np.array([one.values for one in columns])).all(axis=0)
    return times.total - len(times.items) + int(empty.sum())


__all__ = ["Seconds", "Timed", "Times", "reading_of"]
