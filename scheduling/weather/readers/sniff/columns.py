"""The weather columns of a sheet: variable, and unit, height and averaging as far as the file says them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from scheduling.weather.readers.sniff.amounts import averaging_of, bare_number, height_of, unit_in, unit_of_name
from scheduling.weather.readers.sniff.heading import Heading
from scheduling.weather.readers.sniff.words import variable_in

#: Numbers alone are heights only from here on, and only where several headers differ in nothing else.
_LOWEST_BARE_M, _HIGHEST_BARE_M = 10.0, 1000.0
#: Kinds of aggregation that make no mean of a wind, and what a highest value of a wind is.
_NO_MEANS = {"std", "min", "tot", "sum", "stddev", "minimum", "tmx"}
_MOST = {"max", "maximum"}


@dataclass
class Found:
    """A weather column: its place, its name in the file, and what the file says of it (with where it says so)."""

    at: int
    name: str
    variable: str
    said: dict[str, Any] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)

    def say(self, name: str, value: Any, source: str) -> None:
        """Note a value unless one is known already or there is none."""
        if value is not None and name not in self.said:
            self.said[name], self.sources[name] = value, source

    def plain(self) -> dict[str, Any]:
        """The column as a recipe has it."""
        return {"column": self.name, "variable": self.variable, **self.said}


def find_columns(heading: Heading, names: Sequence[str], legend: dict[str, str], skip: Sequence[int]) -> list[Found]:
    """The columns that hold a variable. `names` are the headers made unique; `skip` the time columns."""
    header = tuple(text.strip() for text in heading.names)
    found = []
    for at, name in enumerate(names):
        variable = None if at in skip else _variable(heading, at, header)
        if variable is not None:
            found.append(describe(Found(at, name, variable), heading, legend))
    _bare_heights(found)
    return found


def describe(one: Found, heading: Heading, legend: dict[str, str]) -> Found:
    """Fill in what header, rows below it and legend say of a column."""
    header, variable = heading.said(heading.names, one.at), one.variable
    told = legend.get(header, "")
    one.say("unit", unit_of_name(header, variable), f"the header {header!r}")
    one.say("unit", unit_in(heading.said(heading.units, one.at), variable), "the row of units")
    one.say("unit", unit_of_name(told, variable), "the legend of the file")
    one.say("height_m", height_of(header), f"the header {header!r}")
    row = heading.said(heading.heights, one.at)
    one.say("height_m", float(row) if row and row.replace(".", "", 1).isdigit() else None, "the row of heights")
    one.say("height_m", height_of(told), "the legend of the file")
    if variable == "pressure" and "surf" in f"{header} {told}".lower():
        one.say("height_m", 0.0, "the word surface in the file")
    one.say("averaging_min", averaging_of(header, variable), f"the header {header!r}")
    return one


def _variable(heading: Heading, at: int, header: tuple[str, ...]) -> str | None:
    kind = heading.said(heading.kinds, at).lower()
    variable = variable_in(heading.said(heading.names, at), header)
    if variable is None or kind in _NO_MEANS:
        return None
    if kind in _MOST:
        return "gust" if variable in ("wind", "gust") else None
    return variable


def _bare_heights(found: Sequence[Found]) -> None:
    """ "WS-50", "WS-75", ...: numbers in which alone several headers of one variable differ are their heights in metres."""
    for variable in {one.variable for one in found}:
        alike = [(one, bare_number(one.name)) for one in found if one.variable == variable and "height_m" not in one.said]
        numbers = [number for _, number in alike if number is not None]
        high = all(_LOWEST_BARE_M <= number <= _HIGHEST_BARE_M for number in numbers)
        if len(set(numbers)) > 1 and len(numbers) == len(alike) == len(set(numbers)) and high:
            for one, number in alike:
                one.say("height_m", number, f"the number in which the headers of {variable} differ, as metres")
