"""What the user says about a file, laid over what the file says about itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.sniff.amounts import height_of, unit_in, unit_of_name
from scheduling.weather.recipe import IN_TEXT
from scheduling.weather.units import VARIABLES, unit_choices

#: Means every column.
ALL = "*"
_YOU = "your answer"
_ORDERS = {"day-first": "%d", "month-first": "%m"}


@dataclass(frozen=True)
class Answers:
    """Answers by question. The keys of units, heights and averagings are a column, a variable, or "*" for all.

    variables   column -> what it holds; only: column -> text of the rows to take
    recipe      fields of a recipe; a complete one is taken as it is
    """

    units: Mapping[str, str] = field(default_factory=dict)
    heights: Mapping[str, float] = field(default_factory=dict)
    averagings: Mapping[str, float] = field(default_factory=dict)
    variables: Mapping[str, str] = field(default_factory=dict)
    only: Mapping[str, str] = field(default_factory=dict)
    zone: str = ""
    stamp: str = ""
    time_format: str = ""
    member: str = ""
    step_min: int | None = None
    recipe: Mapping[str, Any] = field(default_factory=dict)


def answered(proposal: Proposal, answers: Answers) -> Proposal:
    """The proposal with the answers laid over it, and the questions they leave open.

    Raises ValueError when an answer names no column, or says what cannot be.
    """
    recipe = dict(proposal.recipe)
    sources, notes = dict(proposal.sources), list(proposal.notes)
    columns = _columns(recipe.get("columns", []), {**_speeds(proposal, answers), **answers.variables}, answers.recipe)
    _tell(columns, "unit", answers.units, sources, lambda text, column: _unit(text, column["variable"]))
    _tell(columns, "height_m", answers.heights, sources, lambda number, _: float(number))
    _tell(columns, "averaging_min", answers.averagings, sources, lambda number, _: float(number))
    own = {name: value for name, value in answers.recipe.items() if name != "columns"}
    recipe |= {**own, "columns": columns}
    if recipe.get("zone") == IN_TEXT and answers.zone not in ("", IN_TEXT):
        notes.append(f"The zone {answers.zone} was not needed: each stamp carries its own offset from UTC.")
    elif answers.zone:
        recipe["zone"], sources["zone"] = answers.zone, _YOU
    for name, value in _plain(answers, proposal).items():
        if value:
            recipe[name], sources[name] = value, _YOU
    ask = tuple(question for question in proposal.ask if not _is_answered(question.field, recipe))
    return Proposal(recipe, sources, ask, tuple(notes))


def _plain(answers: Answers, proposal: Proposal) -> dict[str, Any]:
    """Answers that stand in the recipe as they are; "day-first" and "month-first" pick one of the patterns asked about."""
    time_format = answers.time_format
    if time_format in _ORDERS:
        asked = next((one.choices for one in proposal.ask if one.field == "time_format"), ())
        time_format = next((form for form in asked if form.startswith(_ORDERS[time_format])), "")
    return {
        "stamp": answers.stamp,
        "time_format": time_format,
        "member": answers.member,
        "step_min": answers.step_min,
        "only": {**proposal.recipe.get("only", {}), **answers.only},
    }


def _is_answered(name: str, recipe: Mapping[str, Any]) -> bool:
    """Whether the recipe has what a question is after; "only.level" asks for one entry of `only`."""
    if name == "columns":
        return any(column.get("variable") == "wind" for column in recipe["columns"])
    group, _, entry = name.partition(".")
    return entry in recipe.get(group, {}) if entry else bool(recipe.get(group))


def _speeds(proposal: Proposal, answers: Answers) -> dict[str, str]:
    """Where no header names a wind: the columns that the user gives a unit of speed are the wind."""
    asked = next((one.choices for one in proposal.ask if one.field == "columns"), ())
    return {name: "wind" for name, text in answers.units.items() if name in asked and unit_in(text, "wind")}


def _columns(proposed: list[dict[str, Any]], variables: Mapping[str, str], recipe: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The proposed columns, those of the answering recipe in their place, and those named as holding a variable."""
    columns = {column["column"]: dict(column) for column in proposed}
    stated = recipe.get("columns")
    if stated:
        columns = {row["column"]: {**columns.get(row["column"], {}), **row} for row in stated if row.get("column")}
    for name, variable in variables.items():
        if variable not in VARIABLES:
            raise ValueError(f"variable: {variable!r} is not known; {name} may be one of {', '.join(VARIABLES)}")
        columns[name] = {**columns.get(name, _described(name, variable)), "variable": variable}
    return list(columns.values())


def _described(name: str, variable: str) -> dict[str, Any]:
    """A column that no header word named, with what its header says of unit and height."""
    said = {"unit": unit_of_name(name, variable), "height_m": height_of(name)}
    return {"column": name, **{field: value for field, value in said.items() if value is not None}}


def _tell(
    columns: list[dict[str, Any]],
    field_name: str,
    told: Mapping[str, Any],
    sources: dict[str, str],
    read: Callable[[Any, Mapping[str, Any]], Any],
) -> None:
    """Write answers into the columns they name; the narrower one wins: a column before its variable before all."""
    known = {name for column in columns for name in (column["column"], column["variable"])} | {ALL, *VARIABLES}
    unknown = next((name for name in told if name not in known), None)
    if unknown is not None:
        names = ", ".join(column["column"] for column in columns) or "none"
        raise ValueError(f"{field_name}: {unknown!r} is no column or variable found in the file; those found are {names}")
    for column in columns:
        name = next((one for one in (column["column"], column["variable"], ALL) if one in told), None)
        if name is not None:
            column[field_name] = read(told[name], column)
            sources[f"columns.{column['column']}.{field_name}"] = _YOU


def _unit(text: str, variable: str) -> str:
    found = text if text == IN_TEXT else unit_in(text, variable)
    if found is None:
        raise ValueError(f"unit: {text!r} is no unit of {variable}; choose one of {', '.join(unit_choices(variable))}")
    return found
