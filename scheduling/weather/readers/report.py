"""What a reader hands back: the series and an honest account of what the file was like."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduling.weather.series import Flag, Series, flag_runs


class ReadRefused(ValueError):
    """The file cannot be read as the recipe says; the text names row, column, value and cure."""


@dataclass(frozen=True)
class Gap:
    """No row for the steps in [start, end), UTC."""

    start: datetime
    end: datetime
    steps: int


@dataclass(frozen=True)
class Conflict:
    """One time that came with different values; none of them is used."""

    column: str
    time: datetime
    values: tuple[float, ...]


@dataclass(frozen=True)
class FlagRun:
    """`rows` steps in a row, from `start` up to `end`, carry the quality flag `rule`."""

    rule: str
    variable: str
    column: str
    start: datetime
    end: datetime
    rows: int


@dataclass(frozen=True)
class Rejected:
    """A row that was not taken: its line in the file, why, and the line as it stood."""

    line: int
    reason: str
    text: str


@dataclass(frozen=True)
class ReadReport:
    """The account of one reading.

    rows_read      data rows seen, rows_skipped of them held nothing but their key (or lay off the grid)
    first, last    the start of the first and of the last step, UTC
    duplicates     rows whose time had come before; conflicts: those among them with another value
    notes          sentences on what was read out of the file itself: the grid point, a range of which the higher end was taken
    """

    rows_read: int
    rows_skipped: int
    first: datetime
    last: datetime
    step_min: int
    gaps: tuple[Gap, ...]
    duplicates: int
    conflicts: tuple[Conflict, ...]
    flags: tuple[FlagRun, ...]
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Plain JSON values; times as ISO texts in UTC."""
        plain: dict[str, Any] = _plain(dataclasses.asdict(self))
        return plain


@dataclass(frozen=True, eq=False)
class Reading:
    """The series of a file, in the recipe's order, all on one grid, and the account.

    issued_at   the issue time the file itself states, UTC; None where it states none
    rejected    rows that did not fit and were left out because the caller accepted the good ones
    """

    series: tuple[Series, ...]
    report: ReadReport
    issued_at: datetime | None = None
    rejected: tuple[Rejected, ...] = ()

    @property
    def members(self) -> int:
        """How many members an ensemble has; 1 for a single forecast or an observation."""
        return max(1, max(one.member for one in self.series))

    def of(self, variable: str) -> tuple[Series, ...]:
        """The series of one variable, in order of trust. Raises ValueError when the file has none."""
        found = tuple(one for one in self.series if one.variable == variable)
        if not found:
            raise ValueError(f"{variable}: the recipe names no such column; add one")
        return found


def quality_runs(series: tuple[Series, ...]) -> tuple[FlagRun, ...]:
    """Every unbroken run of a quality flag; missing values and gaps are reported elsewhere."""
    rules = (
        Flag.STUCK, Flag.DEAD, Flag.SPIKE, Flag.RANGE, Flag.JUMP, Flag.SCALE, Flag.ICING,
        Flag.CONFLICT, Flag.DOUBLED, Flag.COARSE,
    )  # fmt: skip
    return tuple(
        FlagRun(rule.name or "", one.variable, one.name, one.time(first), one.time(first + length), length)
        for one in series
        for rule in rules
        for first, length in flag_runs(one.flags, rule)
    )


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value
