"""Bytes to a table of texts: encoding, dialect, header; binary and ragged files are refused early."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scheduling.weather.readers.faults import Fault, refuse_first
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import Recipe

_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


@dataclass(frozen=True)
class Table:
    """header -> column of texts; `lines` holds the line number in the file of each row.

    ragged   lines with more or fewer cells than the header; they are in no column
    text     the whole file, for lines that are handed back
    """

    columns: Mapping[str, Sequence[str]]
    lines: Sequence[int]
    ragged: tuple[Fault, ...] = ()
    text: str = ""

    def text_lines(self) -> list[str]:
        """The lines of the file as they stand."""
        return [line.rstrip("\r\n") for line in io.StringIO(self.text, newline="")]

    def column(self, name: str) -> Sequence[str]:
        """The texts of a column. Raises ReadRefused when the header has none of this name, or several."""
        if name in self.columns:
            return self.columns[name]
        several = [header for header in self.columns if header.rpartition("#")[0] == name]
        if several:
            raise ReadRefused(f"column {name!r} is in the header more than once; say which: {', '.join(several)}")
        raise ReadRefused(f"column {name!r} is not in the header; it has {', '.join(self.columns)}")


def read_table(data: bytes, recipe: Recipe) -> Table:
    """Split a file into columns by the recipe's dialect; rows kept are those the recipe asks for."""
    text = decode(data, recipe.encoding)
    rows = split_rows(text, recipe.delimiter)
    head = recipe.skip_rows
    if len(rows) <= head:
        raise ReadRefused(f"The file has {len(rows)} lines, but the header was to stand on line {head + 1}.")
    first = head + recipe.header + recipe.skip_after
    names = unique_names(rows[head]) if recipe.header else [str(at) for at in range(1, len(rows[head]) + 1)]
    return _table(names, rows[first : _end(rows, first, recipe.ends_at)], first, recipe, text)


def split_rows(text: str, delimiter: str) -> list[list[str]]:
    """The cells of every line; a blank line has none. Raises ReadRefused with the line that cannot be split."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter == " ")
    try:
        return list(reader)
    except csv.Error as error:
        raise ReadRefused(f"line {reader.line_num}: {error}; check the delimiter {delimiter!r}") from error


def _end(rows: list[list[str]], first: int, ends_at: str) -> int:
    if not ends_at:
        return len(rows)
    return next((at for at in range(first, len(rows)) if rows[at] and rows[at][0].startswith(ends_at)), len(rows))


def decode(data: bytes, encoding: str) -> str:
    """The text of a file; a byte order mark beats the recipe.

    Raises ReadRefused for binary or another encoding.
    """
    marked = next((name for mark, name in _BOMS if data.startswith(mark)), None)
    if marked is None and b"\0" in data:
        at = data.index(b"\0")
        raise ReadRefused(f"Byte {at} is NUL: this is no plain text file. Export it again as text.")
    try:
        return data.decode(marked or encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise ReadRefused(f"The file is not {marked or encoding} text ({error}); state its encoding.") from error


def unique_names(row: list[str]) -> list[str]:
    names = [name.strip() for name in row]
    totals, seen = Counter(names), Counter[str]()
    unique = []
    for name in names:
        seen[name] += 1
        unique.append(name if totals[name] == 1 else f"{name}#{seen[name]}")
    return unique


def _table(names: list[str], rows: list[list[str]], first: int, recipe: Recipe, text: str) -> Table:
    width = len(names)
    lines: list[int] = []
    good: list[list[str]] = []
    ragged: list[Fault] = []
    for number, row in enumerate(rows, start=first + 1):
        if len(row) > width and not "".join(row[width:]).strip():
            row = row[:width]  # a delimiter too many at the end of the line
        if len(row) == width:
            lines.append(number)
            good.append(row)
        elif row:
            ragged.append(_ragged(number, row, width, recipe.delimiter))
    if not good:
        refuse_first(ragged, len(ragged))
        raise ReadRefused("The file has a header but no row of data.")
    columns = dict(zip(names, zip(*good, strict=True), strict=True))
    table = Table(columns, lines, tuple(ragged), text)
    return _only(table, recipe) if recipe.only else table


def _ragged(number: int, row: list[str], width: int, delimiter: str) -> Fault:
    text = f"{len(row)} cells where the header has {width}; check the delimiter {delimiter!r} or correct the line"
    return Fault(-1, number, text)


def _only(table: Table, recipe: Recipe) -> Table:
    keep = range(len(table.lines))
    for name, wanted in recipe.only.items():
        texts = table.column(name)
        keep = [i for i in keep if texts[i].strip() == wanted]  # type: ignore[assignment]
    if not keep:
        wanted = ", ".join(f"{name} = {text}" for name, text in recipe.only.items())
        raise ReadRefused(f"only: no row has {wanted}; check the spelling")
    columns = {name: [texts[i] for i in keep] for name, texts in table.columns.items()}
    return replace(table, columns=columns, lines=[table.lines[i] for i in keep])
