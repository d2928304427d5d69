"""The header rows told apart: names, units, kinds of aggregation, heights."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from scheduling.weather.readers.sniff.amounts import looks_like_unit
from scheduling.weather.readers.sniff.words import variable_in

#: How a logger made one value of many, as tables of loggers abbreviate it.
_KINDS = {
    "avg", "std", "max", "min", "smp", "tot", "wvc", "med", "tmx", "mean", "sum", "average", "maximum", "minimum", "stddev",
}  # fmt: skip
_HEIGHT_HEADS = {"height", "height_m", "heights", "z", "hoehe", "höhe", "elevation"}


@dataclass(frozen=True)
class Heading:
    """Header rows by what they say; an empty row where the file has none of that kind.

    names_at   which of the rows above the data holds the names; None: there is no such row
    """

    names: Sequence[str]
    names_at: int | None = None
    units: Sequence[str] = ()
    kinds: Sequence[str] = ()
    heights: Sequence[str] = ()
    others: Sequence[Sequence[str]] = field(default=())

    def said(self, row: Sequence[str], at: int) -> str:
        """What a header row says of a column, "" for nothing."""
        return row[at].strip() if at < len(row) else ""

    def hints(self, at: int) -> str:
        """All that stands above a column."""
        rows = (self.names, self.units, self.kinds, self.heights, *self.others)
        return " ".join(text for row in rows if (text := self.said(row, at)))


def read_heading(above: Sequence[Sequence[str]], width: int) -> Heading:
    """Tell the header rows apart. Without any, columns are called by their position."""
    rows = [[cell.strip() for cell in row] for row in above]
    worded = [at for at, row in enumerate(rows) if _worded(row)]
    if not worded:
        return Heading([str(at + 1) for at in range(width)])
    names_at = max(worded, key=lambda at: (_known(rows[at]), _distinct(rows[at]), -at))
    rest = {at: row for at, row in enumerate(rows) if at != names_at}
    kinds = _first(rest, lambda row: _share(row, lambda cell: cell.lower() in _KINDS) > 0.6)
    units = _first(rest, lambda row: _share(row, looks_like_unit) > 0.5)
    heights = _first(rest, lambda row: row[0].lower() in _HEIGHT_HEADS and _share(row[1:], _number) > 0.5)
    return Heading(rows[names_at], names_at, units, kinds, heights, list(rest.values()))


def _worded(row: Sequence[str]) -> bool:
    return any(re.search(r"[A-Za-zÄÖÜäöü]", cell) for cell in row)


def _known(row: Sequence[str]) -> int:
    return sum(variable_in(cell, tuple(row)) is not None for cell in row)


def _distinct(row: Sequence[str]) -> int:
    return len({cell for cell in row if cell})


def _first(rows: dict[int, list[str]], test: Callable[[Sequence[str]], bool]) -> list[str]:
    """The first row that passes, taken out of `rows`; an empty one when none does."""
    found = next((at for at, row in rows.items() if test(row)), None)
    return [] if found is None else rows.pop(found)


def _share(row: Sequence[str], test: Callable[[str], bool]) -> float:
    filled = [cell for cell in row if cell]
    return sum(test(cell) for cell in filled) / len(filled) if len(filled) > 1 else 0.0


def _number(cell: str) -> bool:
    return bool(re.fullmatch(r"\d+(?:\.\d+)?", cell))
