"""Rows that do not fit the recipe: collected, so that all of them can be told at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.weather.readers.report import ReadRefused


@dataclass(frozen=True)
class Fault:
    """What is wrong with one row: its number in the table, its line in the file, column and cure in words."""

    row: int
    line: int
    reason: str
    column: str = ""

    def __str__(self) -> str:
        where = f"line {self.line}, column {self.column}" if self.column else f"line {self.line}"
        return f"{where}: {self.reason}"


class RowsRefused(ReadRefused):
    """Some rows do not fit; the rest may be taken if the caller says so. `bad` of `rows` rows."""

    def __init__(self, text: str, bad: int, rows: int) -> None:
        super().__init__(text)
        self.bad, self.rows = bad, rows


def refuse_first(faults: Sequence[Fault], rows: int = 0) -> None:
    """Raise RowsRefused with the first fault, and how many rows share its fate; nothing to say without faults."""
    if not faults:
        return
    first = min(faults, key=lambda fault: fault.line)
    bad = len({fault.line for fault in faults})
    more = f" ({bad:,} of {rows:,} rows do not fit.)" if bad > 1 and rows else ""
    raise RowsRefused(f"{first}{more}", bad, rows)
