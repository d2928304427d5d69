"""What a JSON file of weather says about itself, for the inspection."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from scheduling.weather.readers.json_series.document import parse_document
from scheduling.weather.readers.json_series.issued import issue_time
from scheduling.weather.readers.json_series.lists import FoundList, lists_in
from scheduling.weather.readers.json_series.paths import parse_path
from scheduling.weather.readers.json_series.times import INTERVAL, UNIX
from scheduling.weather.readers.json_series.units_beside import beside, for_series
from scheduling.weather.readers.json_series.values import value_of
from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.named import height_in, variable_of
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.unit_texts import unit_of
from scheduling.weather.recipe import IN_TEXT, Question
from scheduling.weather.units import VARIABLES

_OFFSET = re.compile(r".*(?:Z|[+-]\d{2}:?\d{2})")
#: Ways to write a time without signs between its parts, told by their look alone.
_COMPACT = {r"\d{8}:\d{4}": "%Y%m%d:%H%M", r"\d{12}": "%Y%m%d%H%M", r"\d{10}": "%Y%m%d%H"}


@dataclass
class _Draft:
    columns: list[dict[str, Any]] = field(default_factory=list)
    time_columns: list[str] = field(default_factory=list)
    stamps: list[Any] = field(default_factory=list)
    pairs: bool = False
    sources: dict[str, str] = field(default_factory=dict)
    ask: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def propose_json(content: bytes, name: str) -> Proposal | None:
    """The proposal for a JSON file; None for any other. Raises ReadRefused when no list in it has times."""
    if content.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] not in (b"{", b"["):
        return None
    document = parse_document(content, "utf-8")
    timed = _timed(lists_in(document))
    if not timed:
        raise ReadRefused("The file is JSON, but no list in it has items with a time; there is no weather to read in it.")
    draft = _Draft()
    for found, stamps, times in timed:
        _add(draft, document, found, stamps, times)
    if not draft.columns:
        raise ReadRefused(f"No weather variable is known by its name in it; it has {_names(timed)}.")
    return _proposal(draft, document)


Timed = tuple[FoundList, list[str], list[list[Any]]]


def _timed(lists: Sequence[FoundList]) -> list[Timed]:
    """Lists with the paths of their times; of plain lists side by side the one with times serves the others."""
    timed: list[Timed] = []
    for one in lists:
        times = one.times()
        stamps = one
        if not times:
            near = [two for two in lists if one.leaves.keys() == two.leaves.keys() == {()} and two.before[:-1] == one.before[:-1]]
            stamps = next((two for two in near if two.times()), one)
        ways = stamps.times()[:2]
        if ways and (ways != [()] or stamps is not one):
            timed.append((one, [stamps.path(way) for way in ways], [stamps.leaves[way] for way in ways]))
    return timed


def _add(draft: _Draft, document: Any, found: FoundList, stamps: list[str], times: list[list[Any]]) -> None:
    fresh = []
    for after, values in found.leaves.items():
        path = parse_path(found.path(after))
        variable = variable_of(path.name)
        if variable is None or path.text in stamps:
            continue
        if not values:
            draft.notes.append(f"{path.text}: it holds no value.")
            continue
        if any(one["variable"] == variable and not _same_list(one["column"], path.text) for one in draft.columns):
            draft.notes.append(f"{path.text}: left alone, {variable} was found in another list already.")
            continue
        fresh.append(_column(draft, document, found, after, variable))
    if fresh:
        draft.columns += fresh
        draft.time_columns += [one for one in stamps if one not in draft.time_columns]
        draft.stamps += times[0]
        draft.pairs = draft.pairs or len(stamps) > 1


def _same_list(one: str, two: str) -> bool:
    first, second = parse_path(one), parse_path(two)
    return first.before == second.before or (not first.after and not second.after and first.before[:-1] == second.before[:-1])


def _column(draft: _Draft, document: Any, found: FoundList, after: tuple[Any, ...], variable: str) -> dict[str, Any]:
    path = parse_path(found.path(after))
    column: dict[str, Any] = {"column": path.text, "variable": variable}
    draft.sources[f"columns.{path.text}.variable"] = f"the name {path.name}"
    units = _units(document, found, after, variable)
    if units and all(unit_of(text, variable) for text in units):
        column["unit"] = IN_TEXT
        draft.sources[f"columns.{path.text}.unit"] = f"the file: {', '.join(units)}"
    elif units:
        draft.notes.append(f"{path.text}: the unit {' or '.join(units)} is not known for {variable}.")
    height = height_in(path.name)
    if height is not None:
        column["height_m"] = height
        draft.sources[f"columns.{path.text}.height_m"] = f"the name {path.name}"
    return column


def _units(document: Any, found: FoundList, after: tuple[Any, ...], variable: str) -> list[str]:
    """Every unit the file states for a column, in the values, beside them or for the series."""
    path = parse_path(found.path(after))
    in_values = [value_of(one, variable, frozenset(), path.text).unit for one in found.leaves[after] if isinstance(one, str)]
    told = dict.fromkeys(unit for unit in in_values if unit)
    if not told:
        told = dict.fromkeys(unit for item in found.rows if (unit := beside(item, path)))
    return list(told or dict.fromkeys(for_series(document, path)))


def _proposal(draft: _Draft, document: Any) -> Proposal:
    recipe: dict[str, Any] = {"reader": "json", "columns": draft.columns, "time_columns": draft.time_columns}
    recipe |= _time_fields(draft)
    issued = issue_time(document)
    if issued is not None:
        draft.notes.append(f"The file states that it was issued at {issued:%Y-%m-%d %H:%M} UTC.")
    if len(set(map(str, draft.stamps))) == 1 and not draft.pairs and recipe.get("time_format") != INTERVAL:
        draft.ask.append(Question("step_min", "One time alone tells no step. How many minutes does a value stand for?"))
    return Proposal(recipe, draft.sources, tuple(draft.ask), tuple(draft.notes))


def _time_fields(draft: _Draft) -> dict[str, Any]:
    form = _time_format(draft.stamps)
    fields: dict[str, Any] = {}
    if form is None:
        draft.ask.append(Question("time_format", "How is the time written?", ("iso", INTERVAL, UNIX, "%Y%m%d%H%M")))
    else:
        fields["time_format"] = form
        draft.sources["time_format"] = f"the times, such as {draft.stamps[0]}"
    if form == INTERVAL or draft.pairs:
        fields["stamp"] = "start"
        draft.sources["stamp"] = "the file gives a start and an end"
    zone = _zone(draft, form)
    if zone:
        fields["zone"] = zone
        draft.sources["zone"] = (
            f"the times, such as {draft.stamps[0]}" if zone == IN_TEXT else f"the path {draft.time_columns[0]}"
        )
    return fields


def _time_format(stamps: list[Any]) -> str | None:
    if all(isinstance(one, int) for one in stamps):
        return UNIX
    texts = [str(one) for one in stamps]
    if all(re.fullmatch(r"\d{4}-\d{2}-\d{2}[T ].*/.*", text) for text in texts):
        return INTERVAL
    if all(re.fullmatch(r"\d{4}-\d{2}-\d{2}[T ][^/]*", text) for text in texts):
        return "iso"
    return next((form for look, form in _COMPACT.items() if all(re.fullmatch(look, text) for text in texts)), None)


def _zone(draft: _Draft, form: str | None) -> str | None:
    starts = [str(one).partition("/")[0] for one in draft.stamps]
    if form in ("iso", INTERVAL) and all(_OFFSET.fullmatch(text[16:]) for text in starts):
        return IN_TEXT
    named = all(re.search(r"utc", path, re.IGNORECASE) for path in draft.time_columns)
    return "UTC" if form == UNIX or named else None


def _names(timed: Sequence[Timed]) -> str:
    names = dict.fromkeys(parse_path(found.path(after)).text for found, _, _ in timed for after in found.leaves)
    return ", ".join(list(names)[:20]) + f"; known are {', '.join(VARIABLES)}"
