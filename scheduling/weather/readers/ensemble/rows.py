"""The rows of an ensemble in long form: of which issue they are, and which rows make one member or one quantile."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.faults import refuse_first
from scheduling.weather.readers.kinds import AnswerNeeded
from scheduling.weather.readers.numbers import parse_numbers
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.stamps import to_utc_seconds
from scheduling.weather.readers.table import Table, read_table
from scheduling.weather.readers.timed import Seconds
from scheduling.weather.recipe import Question, Recipe
from scheduling.weather.series import FloatArray
from scheduling.weather.units import to_kept

#: In `only`, beside the text of an issue: whichever was issued last.
NEWEST = "newest"
#: More groups than this are no members: the column named holds something else.
MAX_GROUPS = 1000

Rows = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class LongForm:
    """The rows of one issue.

    groups    text of the member or quantile -> its rows, in the file's order
    seconds   UTC seconds [rows] for which each value holds; values: per column of the recipe, in kept units
    """

    groups: dict[str, Rows]
    seconds: Seconds
    values: tuple[FloatArray, ...]
    lines: Sequence[int]
    issued_at: datetime | None


def long_form(data: bytes, recipe: Recipe) -> LongForm:
    """Read the rows. Raises ReadRefused with line and cure, AnswerNeeded when one of several issues must be chosen."""
    kind = group_role(recipe)
    table, issued_at = _of_one_issue(read_table(data, _without_newest(recipe)), recipe)
    refuse_first(table.ragged, len(table.lines))
    groups = _groups(table.column(recipe.roles[kind]), kind)
    values = [parse_numbers(table.column(one.column), one.column, table.lines, recipe) for one in recipe.columns]
    kept = (to_kept(raw, one.unit, one.variable) for raw, one in zip(values, recipe.columns, strict=True))
    return LongForm(groups, _seconds(table, groups, recipe), tuple(kept), table.lines, issued_at)


def group_role(recipe: Recipe) -> str:
    """ "member" or "quantile", whichever the recipe has. Raises AnswerNeeded when it has neither or both."""
    found = [role for role in ("member", "quantile") if role in recipe.roles]
    if len(found) != 1:
        raise AnswerNeeded(Question("roles", "Which column holds the number of the member, or else the quantile?"))
    return found[0]


def _without_newest(recipe: Recipe) -> Recipe:
    issue = recipe.roles.get("issue")
    newest = recipe.only.get(issue or "") == NEWEST
    return replace(recipe, only={name: text for name, text in recipe.only.items() if name != issue}) if newest else recipe


def _of_one_issue(table: Table, recipe: Recipe) -> tuple[Table, datetime | None]:
    name = recipe.roles.get("issue")
    if name is None:
        return table, None
    texts = [text.strip() for text in table.column(name)]
    issues = {text: at for at, text in reversed(list(enumerate(texts)))}
    times = {text: _issued(text, table.lines[at], recipe) for text, at in sorted(issues.items(), key=lambda one: one[1])}
    newest = max(times, key=lambda text: times[text])
    if len(times) > 1 and recipe.only.get(name) != NEWEST:
        text = f"The file has {len(times)} issues, the last of {times[newest]:%Y-%m-%d %H:%M} UTC. Which one?"
        raise AnswerNeeded(Question(f"only.{name}", text, (NEWEST, *list(times)[-11:])))
    keep = [at for at, text in enumerate(texts) if text == newest]
    columns = {header: [cells[at] for at in keep] for header, cells in table.columns.items()}
    return replace(table, columns=columns, lines=[table.lines[at] for at in keep]), times[newest]


def _issued(text: str, line: int, recipe: Recipe) -> datetime:
    return datetime.fromtimestamp(int(to_utc_seconds([text], [line], recipe.time_format, recipe.zone)[0]), tz=UTC)


def _groups(texts: Sequence[str], kind: str) -> dict[str, Rows]:
    found: dict[str, list[int]] = {}
    for row, text in enumerate(texts):
        found.setdefault(text.strip(), []).append(row)
    if "" in found:
        raise ReadRefused(f"{len(found[''])} rows name no {kind}; fill it in or take them out")
    if len(found) > MAX_GROUPS:
        raise ReadRefused(f"roles.{kind}: that column has {len(found):,} different texts; name the one that holds the {kind}")
    return {text: np.array(found[text], dtype=np.intp) for text in sorted(found, key=_natural)}


def _natural(text: str) -> tuple[list[tuple[float, str]], str]:
    """Sorts mem2 before mem10, and 0.5 before 10."""
    return [(float(part), "") if part[0].isdigit() else (-1.0, part) for part in re.findall(r"\d+(?:\.\d+)?|\D+", text)], text


def _seconds(table: Table, groups: dict[str, Rows], recipe: Recipe) -> Seconds:
    """Each group by itself: its rows are a series in time, the file's rows are not."""
    columns = [table.column(name) for name in recipe.time_columns]
    seconds = np.zeros(len(table.lines), dtype=np.int64)
    for rows in groups.values():
        texts = [" ".join(column[row].strip() for column in columns) for row in rows]
        seconds[rows] = to_utc_seconds(texts, [table.lines[row] for row in rows], recipe.time_format, recipe.zone)
    return seconds
