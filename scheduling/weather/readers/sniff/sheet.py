"""The parts of a delimited file: preamble, header rows, data, and what stands below them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.sniff.clock import which_read
from scheduling.weather.readers.sniff.dialect import find_delimiter, read_text
from scheduling.weather.readers.sniff.timing import Timing, find_timing
from scheduling.weather.readers.table import split_rows

MOST_HEADER_ROWS = 8
_FEW_ROWS = 2


@dataclass(frozen=True)
class Sheet:
    """A file cut into cells. `above` are the header rows as they stand, the row of names not yet told apart.

    first   the index of the first row of data among `rows`; past: one after the last
    """

    encoding: str
    delimiter: str
    rows: Sequence[Sequence[str]]
    width: int
    first: int
    past: int
    above: Sequence[Sequence[str]]
    timing: Timing

    def data(self) -> list[Sequence[str]]:
        """Rows of data of the usual width."""
        return [row for row in self.rows[self.first : self.past] if len(row) == self.width]

    def preamble(self) -> list[str]:
        """Lines before the header rows."""
        return [self.delimiter.join(row) for row in self.rows[: self.first - len(self.above)]]

    def below(self) -> list[str]:
        """Lines after the data that are not blank."""
        return [self.delimiter.join(row) for row in self.rows[self.past :] if row]


def cut(data: bytes) -> Sheet:
    """Cut a file. Raises ReadRefused when it is no table, or no column of it holds times."""
    text, encoding = read_text(data)
    delimiter = find_delimiter(text.splitlines())
    rows = [_trimmed(row) if delimiter == " " else row for row in split_rows(text, delimiter)]
    width = Counter(len(row) for row in rows if len(row) > 1).most_common(1)[0][0]
    wide = [row for row in rows if len(row) == width]
    top = wide[: min(MOST_HEADER_ROWS, len(wide) // 2)]
    hints = [" ".join(row[at] for row in top) for at in range(width)]
    timing = find_timing(wide[len(top) :] if len(wide) > 2 * MOST_HEADER_ROWS else wide, hints)
    if timing is None:
        raise ReadRefused(_no_time(rows, width))
    texts = timing.texts(rows)
    held = np.flatnonzero(np.any([which_read(texts, form) for form in timing.pattern.formats], axis=0)).tolist()
    if len(held) < _FEW_ROWS:
        raise ReadRefused(f"Only {len(held)} row holds a time; a series needs {_FEW_ROWS} at least.")
    first, past = held[0], held[-1] + 1
    return Sheet(encoding, delimiter, rows, width, first, past, _above(rows, first, width), timing)


def _trimmed(row: list[str]) -> list[str]:
    return row[:-1] if row and row[-1] == "" else row


def _above(rows: Sequence[Sequence[str]], first: int, width: int) -> list[Sequence[str]]:
    at = first
    while at > 0 and first - at < MOST_HEADER_ROWS and len(rows[at - 1]) == width:
        at -= 1
    return list(rows[at:first])


def _no_time(rows: Sequence[Sequence[str]], width: int) -> str:
    """Why a table is no weather record: with its header line, its columns, and a value of the first."""
    at = next(at for at, row in enumerate(rows) if len(row) == width)
    names = [name.strip() or "(no name)" for name in rows[at]]
    value = next((row[0].strip() for row in rows[at + 1 :] if len(row) == width), "")
    return (
        f"No column holds times with date and hour: line {at + 1} names {', '.join(names[:8])}"
        f"{', ...' if width > 8 else ''}, and the first row begins with {value[:40]!r} in column {names[0]}; "
        "give the record with its time column, or leave the file out if it is no weather record."
    )
