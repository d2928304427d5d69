"""One column of a recipe out of the document: its times, its values in the kept unit, and what there was to say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from scheduling.weather.readers.json_series.paths import ListPath, dig, list_at, parse_path
from scheduling.weather.readers.json_series.times import times_of
from scheduling.weather.readers.json_series.units_beside import beside, for_series
from scheduling.weather.readers.json_series.values import Value, value_of
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.timed import Timed, Times
from scheduling.weather.readers.unit_texts import agreed_unit, stated_unit, unit_of
from scheduling.weather.recipe import IN_TEXT, Column, Recipe
from scheduling.weather.series import FloatArray
from scheduling.weather.units import to_kept


def timed_column(document: Any, column: Column, recipe: Recipe) -> Timed:
    """Read a column. Raises ReadRefused naming the item, the value and the cure."""
    path = parse_path(column.column)
    items = list_at(document, path)
    paths = time_paths(path, [parse_path(text) for text in recipe.time_columns])
    stamps = items if paths[0].before == path.before else _beside_list(document, path, paths[0], len(items))
    times = times_of(stamps, paths, recipe)
    values, notes = _values(document, items, times, path, column, frozenset((*recipe.missing, *column.missing)))
    return Timed(column, times, values, str(paths[0].before), notes=notes)


def time_paths(path: ListPath, stamps: Sequence[ListPath]) -> tuple[ListPath, ...]:
    """The one or two time columns of a value: of its own list, or of a list of plain times beside it."""
    found = tuple(one for one in stamps if one.before == path.before)
    if not found:
        found = tuple(one for one in stamps if one.before[:-1] == path.before[:-1] and not one.after and not path.after)
    if not 1 <= len(found) <= 2:
        raise ReadRefused(f"time_columns: name the path of the time (or of start and end) in the list of {path.text}")
    return found


def _beside_list(document: Any, path: ListPath, stamp: ListPath, count: int) -> list[Any]:
    stamps = list_at(document, stamp)
    if len(stamps) != count:
        raise ReadRefused(f"{path.text} has {count} values, {stamp.text} has {len(stamps)} times; fetch the file again.")
    return stamps


def _values(
    document: Any, items: list[Any], times: Times, path: ListPath, column: Column, missing: frozenset[str]
) -> tuple[FloatArray, tuple[str, ...]]:
    of_series = cache(lambda: _series_unit(document, path, column))
    numbers = np.full(len(times.items), np.nan)
    ranges, units = 0, set()
    for row, item in enumerate(times.items):
        place = path.at(int(item))
        value = value_of(dig(items[item], path.after), column.variable, missing, place)
        if np.isnan(value.number):
            continue
        unit = _own_unit(value, items[item], path, column, place) or of_series()
        numbers[row] = to_kept(value.number, unit, column.variable)
        ranges += value.of_range
        units.add(unit)
    return numbers, _notes(column, ranges, sorted(units))


def _own_unit(value: Value, item: Any, path: ListPath, column: Column, place: str) -> str | None:
    if value.unit:
        # Not even a unit stated in the recipe makes sense of "10 furlongs": the text may mean anything.
        known = unit_of(value.unit, column.variable) is not None
        return agreed_unit(value.unit, column if known else replace(column, unit=IN_TEXT), place)
    told = beside(item, path)
    return agreed_unit(told, column, place) if told else None


def _series_unit(document: Any, path: ListPath, column: Column) -> str:
    """The unit for the values that bring none: what the file says for the series, else what the recipe says."""
    texts = for_series(document, path)
    units = {unit_of(text, column.variable) or text for text in texts}
    if len(units) < 2:
        return agreed_unit(texts[0], column, path.text) if texts else stated_unit(column, path.text)
    if column.unit not in units:
        raise ReadRefused(f"{path.text}: the file names it in {' and in '.join(sorted(units))}; state the unit in the recipe")
    return column.unit


def _notes(column: Column, ranges: int, units: list[str]) -> tuple[str, ...]:
    notes = []
    if ranges:
        notes.append(f"{column.column}: {ranges} values were given as a range; the higher end was taken.")
    if len(units) > 1:
        told = " and ".join(units)
        notes.append(f"{column.column}: values in {told} stand side by side; each was converted by its own unit.")
    return tuple(notes)
