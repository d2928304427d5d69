"""Bytes to a table of texts: encoding, dialect, header; binary and ragged files are refused early."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import Recipe

_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


@dataclass(frozen=True)
class Table:
    """header -> column of texts; `lines` holds the line number in the file of each row."""

    columns: Mapping[str, Sequence[str]]
    lines: Sequence[int]

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
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=recipe.delimiter, skipinitialspace=recipe.delimiter == " ")
    try:
        rows = list(reader)
    except csv.Error as error:
        raise ReadRefused(f"line {reader.line_num}: {error}; check the delimiter {recipe.delimiter!r}") from error
    head = recipe.skip_rows
    if len(rows) <= head:
        raise ReadRefused(f"The file has {len(rows)} lines, but the header was to stand on line {head + 1}.")
    names = _header(rows[head])
    return _table(names, rows, head + 1 + recipe.skip_after, recipe)


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


def _header(row: list[str]) -> list[str]:
    names = [name.strip() for name in row]
    totals, seen = Counter(names), Counter[str]()
    unique = []
    for name in names:
        seen[name] += 1
        unique.append(name if totals[name] == 1 else f"{name}#{seen[name]}")
    return unique


def _table(names: list[str], rows: list[list[str]], head: int, recipe: Recipe) -> Table:
    numbered = [(number, row) for number, row in enumerate(rows[head:], start=head + 1) if row]
    for number, row in numbered:
        if len(row) != len(names):
            raise ReadRefused(
                f"line {number} has {len(row)} cells, the header has {len(names)}; "
                f"check the delimiter {recipe.delimiter!r} or correct the line"
            )
    if not numbered:
        raise ReadRefused("The file has a header but no row of data.")
    lines = [number for number, _ in numbered]
    columns = dict(zip(names, zip(*(row for _, row in numbered), strict=True), strict=True))
    table = Table(columns, lines)
    return _only(table, recipe) if recipe.only else table


def _only(table: Table, recipe: Recipe) -> Table:
    keep = range(len(table.lines))
    for name, wanted in recipe.only.items():
        texts = table.column(name)
        keep = [i for i in keep if texts[i].strip() == wanted]  # type: ignore[assignment]
    if not keep:
        wanted = ", ".join(f"{name} = {text}" for name, text in recipe.only.items())
        raise ReadRefused(f"only: no row has {wanted}; check the spelling")
    columns = {name: [texts[i] for i in keep] for name, texts in table.columns.items()}
    return Table(columns, [table.lines[i] for i in keep])
