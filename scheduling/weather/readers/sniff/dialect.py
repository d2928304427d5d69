"""How a text file is cut: its encoding and its delimiter, told from all lines."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from itertools import groupby

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.table import decode

#: In order of preference where several cut the lines equally well: a comma may be a decimal sign, a blank part of a time.
_DELIMITERS = ("\t", ";", "|", ",", " ")
_ENCODINGS = ("utf-8", "cp1252")


def read_text(data: bytes) -> tuple[str, str]:
    """(text, encoding). UTF-8, or what a byte order mark says, or else the western code page.

    Raises ReadRefused for binary content.
    """
    try:
        return decode(data, _ENCODINGS[0]), _ENCODINGS[0]
    except ReadRefused:
        if b"\0" in data[: 1 << 16] or _unprintable(data):
            raise
    return decode(data, _ENCODINGS[1]), _ENCODINGS[1]


def find_delimiter(lines: Sequence[str]) -> str:
    """The delimiter that cuts the longest run of lines into the same number of cells, two at least.

    Raises ReadRefused when none does.
    """
    runs = {delimiter: _longest_run(lines, delimiter) for delimiter in _DELIMITERS}
    most = max(runs.values())
    if most < 2:
        raise ReadRefused(
            "No comma, semicolon, tab, bar or blank cuts the lines into the same number of cells: this is no table; "
            "export it as delimited text."
        )
    return next(delimiter for delimiter in _DELIMITERS if runs[delimiter] >= 0.9 * most)


def cells_of(line: str, delimiter: str) -> int:
    """How many cells a line has."""
    if delimiter == " ":
        return len(line.split())
    if '"' in line:
        return len(next(csv.reader([line], delimiter=delimiter), []))
    return line.count(delimiter) + 1


def _longest_run(lines: Sequence[str], delimiter: str) -> int:
    return max((count for cells, count in _runs(lines, delimiter) if cells > 1), default=0)


def _runs(lines: Sequence[str], delimiter: str) -> Iterator[tuple[int, int]]:
    for cells, group in groupby(cells_of(line, delimiter) for line in lines if line.strip()):
        yield cells, sum(1 for _ in group)


def _unprintable(data: bytes) -> bool:
    head = data[:4096]
    return sum(byte < 32 and byte not in b"\t\r\n\x0c" for byte in head) > 0
