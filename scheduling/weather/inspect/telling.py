"""An inspection in lines for a person at a terminal, with the option that answers each question."""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.weather.inspect.outcome import Inspection
from scheduling.weather.readers.report import ReadReport
from scheduling.weather.recipe import IN_TEXT, Question

_MOST_FLAGS = 20
_OPTIONS = {"unit": "--unit", "height_m": "--height", "averaging_min": "--averaging"}
_FIELDS = {"time_format": "--time-format", "step_min": "--step", "zone": "--zone", "stamp": "--stamp", "member": "--member"}
_EXAMPLES = {"unit": "m/s", "height_m": "10", "averaging_min": "10"}


def told(one: Inspection) -> str:
    """The whole account."""
    head = "can be read" if one.accepted else "needs an answer" if one.ask else "cannot be read"
    lines = [f"{one.name}: {head}.", f"  {one.reason}" if not one.ask else ""]
    lines += [*_variables(one), *_places(one), *_counts(one), *_flags(one)]
    lines += [f"  {note}" for note in one.notes]
    kept = {column["column"] for column in one.draft.get("columns", [])}
    lines += [f"  Left out: {column} ({needs})." for column, needs in one.left_out.items() if column not in kept]
    if one.ask:
        lines += ["It must be told:", *(f"  {text}" for text in _questions(one))]
    return "\n".join(line for line in lines if line) + "\n"


def _variables(one: Inspection) -> Iterator[str]:
    for column in one.draft.get("columns", []):
        name = column["column"]
        unit = _unit(column.get("unit"))
        height = "height open" if column.get("height_m") is None else f"at {column['height_m']:g} m"
        mean = "" if column.get("averaging_min") is None else f", over {column['averaging_min']:g} min"
        told = [f"{label} from {one.sources[key]}" for label, key in _keys(name) if key in one.sources]
        yield f"  {name}: {column['variable']} {unit} {height}{mean}{' (' + '; '.join(told) + ')' if told else ''}"


def _unit(unit: str | None) -> str:
    if unit is None:
        return "unit open"
    return "in the unit given beside each value" if unit == IN_TEXT else f"in {unit}"


def _keys(name: str) -> list[tuple[str, str]]:
    labels = {"unit": "unit", "height_m": "height", "averaging_min": "averaging", "missing": "no value"}
    return [(label, f"columns.{name}.{key}") for key, label in labels.items()]


def _places(one: Inspection) -> Iterator[str]:
    labels = {"zone": "Zone", "stamp": "Stamps name the", "time_format": "Time written as", "missing": "No value"}
    for key, label in labels.items():
        value = one.draft.get(key)
        if value and key != "missing":
            yield f"  {label} {value}{' (' + one.sources[key] + ')' if key in one.sources else ''}"
        elif key in one.sources:
            yield f"  {label}: {one.sources[key]}"


def _counts(one: Inspection) -> Iterator[str]:
    report = one.report
    if report is not None:
        yield f"  {report.rows_read:,} rows, {report.rows_skipped:,} of them skipped; every {report.step_min} min"
        yield f"  {one.time(report.first)} to {one.time(report.last)}{'' if one.zone_known else ' by the clock of the file'}"
        yield f"  {_many(len(report.gaps), 'gap')}, {_many(report.duplicates, 'doubled time')}{_apart(report)}"


def _apart(report: ReadReport) -> str:
    return f", {len(report.conflicts):,} of them with different values" if report.conflicts else ""


def _flags(one: Inspection) -> Iterator[str]:
    flags = list(one.flags())
    for run in flags[:_MOST_FLAGS]:
        what = f" {run['variable']}" if run["variable"] else ""
        yield f"  {run['rule']}{what}: {run['from']} to {run['to']}, {_many(run['rows'], 'row')} not used"
    if len(flags) > _MOST_FLAGS:
        yield f"  ... and {len(flags) - _MOST_FLAGS:,} more runs (all of them with --json)"


def _many(count: int, word: str) -> str:
    return f"{count:,} {word}{'' if count == 1 else 's'}"


def _questions(one: Inspection) -> Iterator[str]:
    """Each question with its answer; the same question about several columns once."""
    variables = {column["column"]: column["variable"] for column in one.draft.get("columns", [])}
    groups: dict[tuple[str, ...], list[Question]] = {}
    for question in one.ask:
        column, last = _column_of(question)
        kind = (last, variables.get(column, ""), *question.choices) if column else (question.field,)
        groups.setdefault(kind, []).append(question)
    for kind, questions in groups.items():
        yield _question(questions[0]) if len(questions) == 1 else _shared(kind, questions)


def _shared(kind: tuple[str, ...], questions: list[Question]) -> str:
    last, variable, *choices = kind
    what = {"unit": "In which unit", "height_m": "At which height above ground, in metres,"}.get(last, last)
    names = ", ".join(_column_of(question)[0] for question in questions)
    listed = f" One of {', '.join(choices)}." if choices else ""
    return f"{what} are the columns {names}?{listed} Answer: {_OPTIONS[last]} {variable}={_EXAMPLES[last]}, or column by column"


def _column_of(question: Question) -> tuple[str, str]:
    """(column, what of it) of a question about a column; ("", "") of another."""
    if not question.field.startswith("columns."):
        return "", ""
    column, _, last = question.field.removeprefix("columns.").rpartition(".")
    return (column, last) if last in _OPTIONS else ("", "")


def _question(question: Question) -> str:
    choices = f" One of {', '.join(question.choices)}." if question.choices else ""
    return f"{question.text}{choices} Answer: {_option(question)}"


def _option(question: Question) -> str:
    name = question.field
    if name.startswith("columns."):
        column, _, last = name.removeprefix("columns.").rpartition(".")
        example = f"{column}={_EXAMPLES.get(last, '...')}"
        return f"{_OPTIONS.get(last, '--recipe')} {_quoted(example)}"
    if name == "columns":
        return "--variable COLUMN=wind"
    if name.startswith("only."):
        return f"--only {_quoted(name.removeprefix('only.') + '=...')}"
    if name == "time_format" and len(question.choices) == 2:
        return "--time-format day-first, or month-first"
    if name == "only":
        return f"--only {_quoted(question.choices[0])}" if question.choices else "--only COLUMN=TEXT"
    example = question.choices[0] if question.choices else "60"
    return f"{_FIELDS.get(name, '--recipe')} {_quoted(example)}"


def _quoted(text: str) -> str:
    return f'"{text}"' if any(sign in text for sign in " ()#*&;") else text
