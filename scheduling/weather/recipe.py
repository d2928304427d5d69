"""A reading recipe: everything a file does not say about itself, stated once and kept."""

from __future__ import annotations

import dataclasses
import json
import math
import re
from dataclasses import dataclass, field
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from scheduling.weather.units import VARIABLES, unit_choices

STAMPS = ("start", "end")
DELIMITED = "delimited"
#: Zone to state when every stamp in the text carries its own offset; unit to state when the file itself names the
#: unit beside every value or series (forecast JSON, NetCDF).
IN_TEXT = "in text"
#: Readers of files that can name units beside their values.
NAMES_UNITS = ("json", "netcdf")
#: What a column of an ensemble in long form can be besides time and value.
ROLES = ("issue", "member", "quantile")
#: UTC, or a clock that is never set: UTC+01:00.
FIXED_ZONE = r"UTC(?:(?P<sign>[+-])(?P<h>0\d|1[0-4]):(?P<m>[0-5]\d))?"
DELIMITERS = (",", ";", "\t", "|", " ")


@dataclass(frozen=True)
class Question:
    """One thing the reader must be told: `field` of the recipe, the question, the choices (empty: any
    number).
    """

    field: str
    text: str
    choices: tuple[str, ...] = ()


class RecipeIncomplete(ValueError):
    """The recipe leaves something open that must never be guessed. `ask` lists the questions."""

    def __init__(self, ask: tuple[Question, ...]) -> None:
        self.ask = ask
        super().__init__("The recipe is not complete. " + " ".join(_sentence(question) for question in ask))


@dataclass(frozen=True)
class Column:
    """One column: what it holds, in which unit, at which height (m) and over which averaging (min).

    `column` is the header's text; the second of two equal headers is called "name#2".
    `unit` may be "in text" where the format gives a unit with every value. `missing` are texts that mean "no
    value" in this column alone (999 is a sentinel in wind and weather in hPa).
    """

    column: str
    variable: str
    unit: str
    height_m: float
    averaging_min: float
    missing: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("column", "variable", "unit"):
            _text(f"columns.{self.column}.{name}", getattr(self, name))
        if self.unit not in (*unit_choices(self.variable), IN_TEXT):
            choices = ", ".join(unit_choices(self.variable))
            raise ValueError(f"columns.{self.column}.unit: {self.unit!r} is not known; choose one of {choices}")
        _number(f"columns.{self.column}.height_m", self.height_m, 0.0, 2000.0)
        _number(f"columns.{self.column}.averaging_min", self.averaging_min, 1.0 / 600.0, 1440.0)
        if self.variable in ("wind", "gust") and self.height_m == 0:
            raise ValueError(f"columns.{self.column}.height_m: wind at 0 m says nothing; give the height above ground")


@dataclass(frozen=True)
class Recipe:
    """How to read one kind of file.

    columns         in order of trust: of two columns with the same variable and height the first is preferred
    time_columns    headers whose texts, joined by a blank, make the time stamp
    time_format     "iso" or a pattern of %Y %y %m %b %d %H %I %p %M %S %z; hour 24 is the end of its day
    stamp           the stamp names the "start" or the "end" of its step
    zone            an IANA name, UTC+01:00 and the like, or "in text" when each stamp carries its offset
    skip_rows       lines before the header; skip_after: lines between header and data
    header          False: no line names the columns; they are called "1", "2", ...
    ends_at         a line whose first cell begins with this text ends the data (a legend, totals)
    member          of a zip: the file to read, or a pattern such as "wind_*.txt"
    missing         texts that mean "no value", besides an empty cell
    only            column -> text: rows with another text there are left alone (one mast of several in a
                    file)
    step_min        the step in minutes; None: the most frequent one in the file
    roles           ensembles in long form: "issue", "member" or "quantile" -> the header that holds it
    note            what was assumed, for whoever reads the recipe later
    """

    name: str
    columns: tuple[Column, ...]
    stamp: str
    zone: str
    time_columns: tuple[str, ...] = ()
    time_format: str = ""
    reader: str = DELIMITED
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    skip_rows: int = 0
    skip_after: int = 0
    header: bool = True
    ends_at: str = ""
    member: str = ""
    missing: tuple[str, ...] = ("NaN", "nan", "NA", "null")
    only: dict[str, str] = field(default_factory=dict)
    step_min: int | None = None
    roles: dict[str, str] = field(default_factory=dict)
    note: str = ""

    def __post_init__(self) -> None:
        for name in ("name", "time_format", "zone", "reader", "encoding", "ends_at", "member", "note"):
            _text(name, getattr(self, name))
        _choice("header", self.header, (True, False))
        if not isinstance(self.only, dict) or not all(isinstance(text, str) for text in self.only.values()):
            raise ValueError("only: give an object of column and text")
        _check_roles(self.roles)
        _check_units(self.reader, self.columns)
        _choice("stamp", self.stamp, STAMPS)
        _choice("delimiter", self.delimiter, DELIMITERS)
        _choice("decimal", self.decimal, (".", ","))
        if self.zone != IN_TEXT and not re.fullmatch(FIXED_ZONE, self.zone) and self.zone not in _zones():
            raise ValueError(
                f"zone: {self.zone!r} is no time zone; give a name such as Europe/Berlin, UTC or UTC+01:00, or {IN_TEXT!r}"
            )
        if self.decimal == self.delimiter:
            raise ValueError("decimal: the decimal sign and the delimiter are both a comma; one of them must differ")
        if not self.columns:
            raise ValueError("columns: name at least one")
        if not self.time_columns and self.reader not in NAMES_UNITS:
            raise ValueError("time_columns: name at least one")
        names = [column.column for column in self.columns]
        if len(set(names)) < len(names):
            raise ValueError("columns: the same column is named twice; keep one of the two")
        for name in ("skip_rows", "skip_after"):
            _number(name, getattr(self, name), 0, 1000)
        if self.step_min is not None:
            _number("step_min", self.step_min, 1, 1440)

    def to_json(self) -> dict[str, Any]:
        """The recipe as plain JSON values."""
        plain: dict[str, Any] = json.loads(json.dumps(dataclasses.asdict(self)))
        return plain


def recipe_from_json(data: str | dict[str, Any]) -> Recipe:
    """Build a Recipe from JSON text or its values.

    Raises RecipeIncomplete (a ValueError) listing every missing unit, height, averaging, variable, stamp,
    zone, time column or time format with the choices; ValueError on anything unknown or wrong.
    """
    plain = _parsed(data)
    known = {one.name for one in dataclasses.fields(Recipe)}
    unknown = sorted(set(plain) - known)
    if unknown:
        raise ValueError(f"recipe: field {unknown[0]!r} is not known; known are {', '.join(sorted(known))}")
    rows = plain.get("columns") or []
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ValueError("columns: give a list of objects, one a column")
    ask = (*_open_fields(plain), *(question for row in rows for question in _open_column(row)))
    if ask:
        raise RecipeIncomplete(ask)
    return _built(plain, rows)


def _built(plain: dict[str, Any], rows: list[dict[str, Any]]) -> Recipe:
    values = dict(plain)
    values.setdefault("name", "unnamed")
    values["columns"] = tuple(_column(row) for row in rows)
    for name in ("time_columns", "missing"):
        if name in values:
            values[name] = _texts(name, values[name])
    return Recipe(**values)


def _texts(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        raise ValueError(f"{name}: give a list of texts")
    return tuple(value)


def _column(row: dict[str, Any]) -> Column:
    unknown = sorted(set(row) - {one.name for one in dataclasses.fields(Column)})
    if unknown:
        raise ValueError(f"columns.{row['column']}: field {unknown[0]!r} is not known")
    return Column(**{**row, "missing": _texts(f"columns.{row['column']}.missing", row.get("missing", []))})


def _parsed(data: str | dict[str, Any]) -> dict[str, Any]:
    if isinstance(data, dict):
        return data
    try:
        plain = json.loads(data)
    except json.JSONDecodeError as error:
        raise ValueError(f"recipe: line {error.lineno} is no JSON ({error.msg})") from error
    if not isinstance(plain, dict):
        raise ValueError("recipe: expected one JSON object")
    return plain


def _open_fields(plain: dict[str, Any]) -> list[Question]:
    ask = []
    if not plain.get("columns"):
        ask.append(Question("columns", "Which columns hold what?", tuple(VARIABLES)))
    rows = plain.get("reader", DELIMITED) not in NAMES_UNITS
    if rows and not plain.get("time_columns"):
        ask.append(Question("time_columns", "Which column (or columns) hold the time?"))
    if rows and not plain.get("time_format"):
        ask.append(Question("time_format", "How is the time written?", ("iso", "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M")))
    if not plain.get("stamp"):
        ask.append(Question("stamp", "Does a stamp name the start or the end of its step?", STAMPS))
    if not plain.get("zone"):
        ask.append(Question("zone", "In which time zone are the stamps?", ("UTC", "UTC+01:00", "Europe/Berlin", IN_TEXT)))
    return ask


def _open_column(row: dict[str, Any]) -> list[Question]:
    name = row.get("column")
    if not name:
        return [Question("columns.column", "Which header does this column have in the file?")]
    variable = row.get("variable")
    if not isinstance(variable, str) or not variable:
        return [Question(f"columns.{name}.variable", f"What does column {name} hold?", tuple(VARIABLES))]
    ask = []
    if not row.get("unit"):
        ask.append(Question(f"columns.{name}.unit", f"In which unit is column {name}?", unit_choices(variable)))
    if row.get("height_m") is None:
        ask.append(Question(f"columns.{name}.height_m", f"At which height above ground, in metres, is column {name}?"))
    if row.get("averaging_min") is None:
        text = f"Over how many minutes is a value of column {name} averaged?"
        ask.append(Question(f"columns.{name}.averaging_min", text))
    return ask


def _check_roles(roles: object) -> None:
    if not isinstance(roles, dict) or not all(isinstance(text, str) for text in roles.values()):
        raise ValueError(f"roles: give an object of {', '.join(ROLES)} and the header that holds it")
    for name in roles:
        _choice("roles", name, ROLES)


def _check_units(reader: str, columns: tuple[Column, ...]) -> None:
    told = [one for one in columns if one.unit == IN_TEXT]
    if told and reader not in NAMES_UNITS:
        choices = ", ".join(unit_choices(told[0].variable))
        raise ValueError(
            f"columns.{told[0].column}.unit: this kind of file names no unit beside its values; choose one of {choices}"
        )


def _sentence(question: Question) -> str:
    if not question.choices:
        return f"{question.text} ({question.field})"
    return f"{question.text} ({question.field}: {', '.join(question.choices)})"


def _text(name: str, value: object) -> None:
    if not isinstance(value, str):
        raise ValueError(f"{name}: {value!r} is no text")


@cache
def _zones() -> set[str]:
    return available_timezones()


def _choice(name: str, value: object, choices: tuple[object, ...]) -> None:
    if value not in choices:
        raise ValueError(f"{name}: {value!r} is not known; choose one of {', '.join(map(repr, choices))}")


def _number(name: str, value: object, low: float, high: float) -> None:
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if not good or not low <= float(value) <= high:  # type: ignore[arg-type]
        raise ValueError(f"{name}: {value!r} is not a number between {low:g} and {high:g}")
