"""Delimited text (CSV and its relatives) by a recipe."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather import quality
from scheduling.weather.readers.doubled import doubled_hours
from scheduling.weather.readers.faults import Fault, RowsRefused, refuse_first
from scheduling.weather.readers.grid import Grid, duplicates, gaps, lay_grid, place
from scheduling.weather.readers.numbers import read_numbers
from scheduling.weather.readers.report import Conflict, Reading, ReadReport, Rejected, quality_runs
from scheduling.weather.readers.stamps import Stamps, read_stamps
from scheduling.weather.readers.table import Table, read_table
from scheduling.weather.recipe import Column, Recipe
from scheduling.weather.series import BoolArray, Flag, FloatArray, Series
from scheduling.weather.units import to_kept

#: Where more than this share of the rows does not fit, the recipe is wrong and not the rows.
MOST_BAD = 0.5
#: A record put together from the months of several years runs backwards this often at most.
_FEW_TURNS = 30


def read_delimited(data: bytes, recipe: Recipe) -> Reading:
    """Read delimited text into series on one UTC grid.

    Raises ReadRefused (a ValueError) with row, column, value and cure; see the recipe for what must be
    stated. RowsRefused when some rows fit and some do not.
    """
    return _read(data, recipe, good_rows_only=False)


def read_good_rows(data: bytes, recipe: Recipe) -> Reading:
    """The same, but rows that do not fit are left out and handed back in `rejected`."""
    return _read(data, recipe, good_rows_only=True)


def _read(data: bytes, recipe: Recipe, good_rows_only: bool) -> Reading:
    table = read_table(data, recipe)
    stamps = read_stamps(_stamps(table, recipe), table.lines, recipe.time_format, recipe.zone)
    read = [read_numbers(table.column(one.column), one.column, table.lines, recipe) for one in recipe.columns]
    faults = (*table.ragged, *stamps.faults, *(fault for _, more in read for fault in more))
    rejected = _rejected(table, faults, good_rows_only)
    keep = np.ones(len(table.lines), dtype=bool)
    keep[[fault.row for fault in faults if fault.row >= 0]] = False
    stamps = Stamps(stamps.utc_s[keep], stamps.local_s[keep], ())
    return _on_grid(recipe, [values[keep] for values, _ in read], stamps, rejected)


def _rejected(table: Table, faults: Sequence[Fault], good_rows_only: bool) -> tuple[Rejected, ...]:
    rows = len(table.lines) + len(table.ragged)
    if not good_rows_only:
        refuse_first(faults, rows)
    reasons: dict[int, str] = {}
    for fault in sorted(faults, key=lambda one: one.line):
        reasons.setdefault(fault.line, str(fault))
    if len(reasons) > MOST_BAD * rows:
        first = next(iter(reasons.values()))
        raise RowsRefused(f"{first}. {len(reasons):,} of {rows:,} rows do not fit: the recipe is wrong.", len(reasons), rows)
    if not reasons:
        return ()
    text = table.text_lines()
    return tuple(Rejected(line, reason, text[line - 1]) for line, reason in reasons.items())


def _on_grid(recipe: Recipe, numbers: list[FloatArray], stamps: Stamps, rejected: tuple[Rejected, ...]) -> Reading:
    grid = lay_grid(stamps.utc_s, recipe.step_min, recipe.stamp)
    series, conflicts = _series(recipe, numbers, grid, stamps)
    checked = quality.check(series)
    empty: BoolArray = np.isnan(np.array(numbers)).all(axis=0) | (grid.slot < 0)
    report = ReadReport(
        rows_read=len(stamps.utc_s) + len(rejected),
        rows_skipped=int(empty.sum()) + len(rejected),
        first=grid.start,
        last=grid.time(grid.steps - 1),
        step_min=grid.step_s // 60,
        gaps=gaps(grid),
        duplicates=duplicates(grid),
        conflicts=conflicts,
        flags=quality_runs(checked),
        notes=_notes(stamps),
    )
    return Reading(checked, report, rejected=rejected)


def _notes(stamps: Stamps) -> tuple[str, ...]:
    steps = np.diff(stamps.utc_s)
    turns = int((steps < 0).sum())
    if not 0 < turns <= min(_FEW_TURNS, len(steps) // 10):
        return ()
    times = "once" if turns == 1 else f"{turns} times"
    return (f"The stamps run backwards {times}, as where months of different years are put together; each row keeps its date.",)


def _stamps(table: Table, recipe: Recipe) -> Sequence[str]:
    columns = [table.column(name) for name in recipe.time_columns]
    return columns[0] if len(columns) == 1 else [" ".join(map(str.strip, parts)) for parts in zip(*columns, strict=True)]


def _series(
    recipe: Recipe, numbers: list[FloatArray], grid: Grid, stamps: Stamps
) -> tuple[tuple[Series, ...], tuple[Conflict, ...]]:
    placed = [
        place(grid, to_kept(raw, column.unit, column.variable), column.column)
        for column, raw in zip(recipe.columns, numbers, strict=True)
    ]
    conflicts = tuple(clash for _, _, clashes in placed for clash in clashes)
    if conflicts:
        twice = doubled_hours(grid, stamps)
        for _, flags, _ in placed:
            flags[twice] |= int(Flag.DOUBLED)
    series = (_one(column, grid, values, flags) for column, (values, flags, _) in zip(recipe.columns, placed, strict=True))
    return tuple(series), conflicts


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
