"""Look at a weather file: propose how to read it, say what was understood and what must be told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Any

from scheduling.weather.inspect.answers import Answers, answered
from scheduling.weather.inspect.outcome import ACCEPTED, NEEDS_ANSWER, REFUSED, Inspection, refused
from scheduling.weather.inspect.settle import Settled, settle, trial, with_averaging
from scheduling.weather.readers import READERS, AnswerNeeded, Proposal, Reading, ReadRefused, load, read
from scheduling.weather.readers.faults import RowsRefused
from scheduling.weather.readers.report import ReadReport
from scheduling.weather.readers.unpack import unpacked
from scheduling.weather.recipe import IN_TEXT, Question, RecipeIncomplete, recipe_from_json

#: As many records side by side are counted one by one while it is open which is meant.
_MOST_RECORDS = 20


def inspect_file(source: bytes | Path, name: str, answers: Answers | None = None, *, good_rows_only: bool = False) -> Inspection:
    """Look at a file (its path or bytes; `name` is told and may help to tell its kind) with the answers given so far.

    Never raises for what a file or an answer holds: the outcome says accepted, what must be told, or why not.
    """
    answers = answers or Answers()
    try:
        data, member = unpacked(load(source), answers.member or str(answers.recipe.get("member", "")))
        proposal = answered(_proposed(data, PurePath(member or name).name, answers), _with_member(answers, member))
        settled = settle(proposal)
        if settled.ask:
            return _asking(data, name, proposal, settled)
        return _read(data, name, proposal, settled, good_rows_only)
    except (AnswerNeeded, RecipeIncomplete) as error:
        return Inspection(name, False, str(error), ask=error.ask)
    except RowsRefused as error:
        return refused(name, f"{error} Correct them, or accept the good rows alone.")
    except ValueError as error:
        return refused(name, str(error))


def _proposed(data: bytes, name: str, answers: Answers) -> Proposal:
    """What the file says about itself; a complete recipe among the answers needs nothing more."""
    if answers.recipe:
        try:
            recipe_from_json(dict(answers.recipe))
            return Proposal(dict(answers.recipe))
        except RecipeIncomplete:
            pass
    for reader in READERS.values():
        proposal = reader.propose(data, name) if reader.propose else None
        if proposal is not None:
            return proposal
    raise ReadRefused(f"{name} is of no kind that is read here; export it as delimited text.")


def _with_member(answers: Answers, member: str) -> Answers:
    return replace(answers, member=answers.member or member) if member else answers


def _asking(data: bytes, name: str, proposal: Proposal, settled: Settled) -> Inspection:
    """The outcome while something is open, with the counts of a trial reading where one is possible."""
    records = next((one.choices for one in settled.ask if one.field == "only"), ())
    report = (
        None
        if any(one.field in ("time_format", "columns", "step_min") for one in settled.ask)
        else _counted(data, settled, records)
    )
    zone = settled.draft.get("zone")
    return Inspection(
        name,
        False,
        "It must be told: " + " ".join(one.text for one in settled.ask),
        draft=settled.draft,
        report=report,
        zone_known=bool(zone),
        ask=settled.ask,
        left_out=settled.left_out,
        sources=dict(proposal.sources),
        notes=(*proposal.notes, *(report.notes if report else ())),
    )


def _counted(data: bytes, settled: Settled, records: tuple[str, ...]) -> ReadReport | None:
    """The report of a trial reading; of records side by side, their sum."""
    draft = trial(settled.draft)
    if not records:
        return _trial_report(data, draft)
    if len(records) > _MOST_RECORDS:
        return None
    reports = [_trial_report(data, {**draft, "only": dict([record.split("=", 1)])}) for record in records]
    known = [report for report in reports if report is not None]
    if len(known) < len(records):
        return None
    return replace(
        known[0],
        rows_read=sum(one.rows_read for one in known),
        rows_skipped=sum(one.rows_skipped for one in known),
        first=min(one.first for one in known),
        last=max(one.last for one in known),
        duplicates=sum(one.duplicates for one in known),
        gaps=tuple(gap for one in known for gap in one.gaps),
        conflicts=tuple(clash for one in known for clash in one.conflicts),
        flags=tuple(run for one in known for run in one.flags),
    )


def _trial_report(data: bytes, draft: Mapping[str, Any]) -> ReadReport | None:
    try:
        return read(data, recipe_from_json(dict(draft)), good_rows_only=True).report
    except ValueError:
        return None


def _read(data: bytes, name: str, proposal: Proposal, settled: Settled, good_rows_only: bool) -> Inspection:
    draft = with_averaging(settled.draft, settled.assumed, 1.0)
    reading = read(data, recipe_from_json(draft), good_rows_only=good_rows_only)
    step = float(reading.report.step_min)
    draft = with_averaging(settled.draft, settled.assumed, step)
    assumed = _assumed(draft, settled.assumed, step)
    draft["note"] = " ".join(filter(None, (str(draft.get("note", "")), *assumed)))
    recipe = recipe_from_json(draft)
    reading = _averaged(reading, {one.column: float(one.averaging_min) for one in recipe.columns})
    return Inspection(
        name,
        True,
        _summary(reading),
        draft=draft,
        recipe=recipe,
        reading=reading,
        report=reading.report,
        left_out=settled.left_out,
        sources=dict(proposal.sources),
        notes=(*proposal.notes, *assumed, *reading.report.notes),
    )


def _assumed(draft: Mapping[str, Any], assumed: tuple[str, ...], step_min: float) -> tuple[str, ...]:
    gusts = [one["column"] for one in draft["columns"] if one["column"] in assumed and one["variable"] == "gust"]
    means = [name for name in assumed if name not in gusts]
    told = []
    if means:
        told.append(f"Assumed: {', '.join(means)} averaged over {step_min:g} min, the step of the file.")
    if gusts:
        told.append(f"Assumed: {', '.join(gusts)} is a 3 s gust.")
    if not any(one["variable"] == "wind" for one in draft["columns"]):
        told.append("There is no wind in it; where wind is wanted, name the column that holds it.")
    return tuple(told)


def _averaged(reading: Reading, averaging_min: Mapping[str, float]) -> Reading:
    """The same reading with the averaging of its series as the recipe has it."""
    series = tuple(
        replace(one, averaging_min=averaging_min[one.name]) if one.name in averaging_min else one for one in reading.series
    )
    return replace(reading, series=series)


def _summary(reading: Reading) -> str:
    report = reading.report
    left = f" {len(reading.rejected):,} rows that do not fit are left out." if reading.rejected else ""
    return (
        f"{report.rows_read:,} rows every {report.step_min} min from {report.first:%Y-%m-%d %H:%M} "
        f"to {report.last:%Y-%m-%d %H:%M} UTC can be read.{left}"
    )


__all__ = ["ACCEPTED", "IN_TEXT", "NEEDS_ANSWER", "REFUSED", "Answers", "Inspection", "Question", "inspect_file"]
