"""Ensembles in long form: one row a valid time and a member (or quantile), delimited, perhaps with several issues."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from scheduling.weather.readers.ensemble.quantiles import MEMBERS, check_rising, in_order, probabilities, ranks, sampled
from scheduling.weather.readers.ensemble.rows import LongForm, group_role, long_form
from scheduling.weather.readers.report import Reading, ReadRefused
from scheduling.weather.readers.timed import Seconds, Timed, Times, reading_of
from scheduling.weather.recipe import Column, Recipe
from scheduling.weather.series import FloatArray


def read_ensemble(data: bytes, recipe: Recipe) -> Reading:
    """Read one issue of an ensemble into one series a member and column, all on one UTC grid.

    `recipe.roles` names the column of the member or of the quantile, and that of the issue (written like the
    valid times) if there is one; `recipe.only` picks an issue by its text or as "newest". A value that a
    member lacks is flagged, so that no window of that member holds it. Raises ReadRefused with line and cure,
    AnswerNeeded when an issue must be chosen.
    """
    rows = long_form(data, recipe)
    of_groups = _members if group_role(recipe) == "member" else _of_quantiles
    timed, notes = of_groups(rows, recipe)
    reading = reading_of(timed, recipe, issued_at=rows.issued_at, notes=notes)
    return replace(reading, report=replace(reading.report, rows_read=len(rows.lines)))


def _members(rows: LongForm, recipe: Recipe) -> tuple[list[Timed], list[str]]:
    timed = []
    for column, values in zip(recipe.columns, rows.values, strict=True):
        for number, (name, at) in enumerate(rows.groups.items(), start=1):
            times = Times(np.arange(len(at)), rows.seconds[at], None, len(at))
            timed.append(Timed(column, times, values[at], name, number))
    names = list(rows.groups)
    notes = [f"{len(names)} members: {names[0]} to {names[-1]} became 1 to {len(names)}."]
    whole = len(names) * len(np.unique(rows.seconds))
    there = sum(len(np.unique(rows.seconds[at])) for at in rows.groups.values())
    if there < whole:
        notes.append(f"{whole - there} of {whole} times of single members are missing; there those members count as unknown.")
    return timed, notes


def _of_quantiles(rows: LongForm, recipe: Recipe) -> tuple[list[Timed], list[str]]:
    names = list(rows.groups)
    levels = probabilities(names)
    seconds = np.unique(rows.seconds)
    order = ranks(seconds)
    times = Times(np.arange(len(seconds)), seconds, None, len(seconds))
    timed = []
    for column, values in zip(recipe.columns, rows.values, strict=True):
        table = _table(rows, column, values, seconds)
        _must_rise(table, levels, column, names, seconds)
        dealt = in_order(sampled(table[np.argsort(levels)], np.sort(levels), column.variable), order)
        timed += [Timed(column, times, dealt[at], "quantiles", at + 1, drawn=True) for at in range(MEMBERS)]
    notes = [
        f"{len(names)} quantiles ({', '.join(names)}) became {MEMBERS} members at even steps.",
        "Beyond the outer quantiles the last slope goes on.",
        "How the members change their order in time is drawn, for quantiles do not say it.",
    ]
    return timed, notes


def _table(rows: LongForm, column: Column, values: FloatArray, seconds: Seconds) -> FloatArray:
    """float64 [quantiles, t] of one column, NaN where there is no row. Raises ReadRefused for a doubled row."""
    if column.variable == "direction":
        raise ReadRefused(f"{column.column}: a direction has no quantiles; leave it out")
    table = np.full((len(rows.groups), len(seconds)), np.nan)
    for number, at in enumerate(rows.groups.values()):
        slots = np.searchsorted(seconds, rows.seconds[at])
        unique, counts = np.unique(slots, return_counts=True)
        if (counts > 1).any():
            twice = at[np.flatnonzero(slots == unique[np.argmax(counts > 1)])[1]]
            raise ReadRefused(f"line {rows.lines[twice]}: this time and quantile came before; take one of the two out")
        table[number, slots] = values[at]
    return table


def _must_rise(table: FloatArray, levels: FloatArray, column: Column, names: list[str], seconds: Seconds) -> None:
    found = check_rising(table, levels)
    if found is None:
        return
    at, number = found
    when = datetime.fromtimestamp(int(seconds[at]), tz=UTC)
    shown = f"{table[number, at]:g}"
    raise ReadRefused(
        f"{column.column}, {when:%Y-%m-%d %H:%M} UTC: quantile {names[number]} ({shown}) lies below a lower one; "
        "correct the values or the column of the quantile"
    )
