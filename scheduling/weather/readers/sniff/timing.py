"""Which columns hold the time: one, a date beside a time of day, or year, month, day and hour apart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.weather.readers.sniff.clock import ENOUGH, Pattern, find_pattern, spread

_SAMPLE = 200
_TIME_OF_DAY = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?(?: ?[AaPp][Mm])?|\d{4}")
#: year, month, day, hour, minute: what each may hold.
_PARTS = (("%Y", 1900, 2200), ("%m", 1, 12), ("%d", 1, 31), ("%H", 0, 24), ("%M", 0, 59))


@dataclass(frozen=True)
class Timing:
    """The positions of the time columns and the pattern of their joined texts."""

    columns: tuple[int, ...]
    pattern: Pattern

    def texts(self, rows: Sequence[Sequence[str]]) -> list[str]:
        """The time of each row as written; "" for a row that is too short."""
        last = max(self.columns)
        return [" ".join(row[at].strip() for at in self.columns) if len(row) > last else "" for row in rows]


def find_timing(rows: Sequence[Sequence[str]], hints: Sequence[str]) -> Timing | None:
    """The time columns of rows of equal width; None when there are none. `hints`: what stands above each column."""
    sample = [rows[at] for at in _places(len(rows))]
    options: list[tuple[int, ...]] = [(at,) for at in range(len(sample[0]))] if sample else []
    options += [(at, at + 1) for at in range(len(options) - 1) if _are_times([row[at + 1] for row in sample])]
    found = [(columns, pattern) for columns in options if (pattern := _pattern(sample, columns, hints))]
    if not found:
        return _in_parts(sample)
    columns, _ = max(found, key=lambda one: ("utc" in _hint(one[0], hints).lower(), one[1].share))
    whole = _pattern(rows, columns, hints)
    return Timing(columns, whole) if whole else None


def _places(count: int) -> list[int]:
    return [int(place) for place in spread([str(at) for at in range(count)], _SAMPLE)]


def _hint(columns: tuple[int, ...], hints: Sequence[str]) -> str:
    return " ".join(hints[at] for at in columns if at < len(hints))


def _pattern(rows: Sequence[Sequence[str]], columns: tuple[int, ...], hints: Sequence[str]) -> Pattern | None:
    return find_pattern(Timing(columns, _NONE).texts(rows), _hint(columns, hints))


_NONE = Pattern((), 0.0, False)


def _are_times(texts: Sequence[str]) -> bool:
    return sum(bool(_TIME_OF_DAY.fullmatch(text.strip())) for text in texts) >= ENOUGH * len(texts)


def _in_parts(sample: Sequence[Sequence[str]]) -> Timing | None:
    """Columns side by side that count as year, month, day, hour and perhaps minute."""
    for at in range(max(0, len(sample[0]) - 3) if sample else 0):
        fitting = 0
        while fitting < len(_PARTS) and at + fitting < len(sample[0]) and _fits(sample, at + fitting, _PARTS[fitting]):
            fitting += 1
        if fitting >= 4 and not _never_changes(sample, at + 3):
            form = " ".join(letter for letter, _, _ in _PARTS[:fitting])
            return Timing(tuple(range(at, at + fitting)), Pattern((form,), 1.0, False))
    return None


def _fits(sample: Sequence[Sequence[str]], at: int, part: tuple[str, int, int]) -> bool:
    letter, low, high = part
    texts = [row[at].strip() for row in sample]
    whole = [text for text in texts if re.fullmatch(r"\d{1,4}", text) and low <= int(text) <= high]
    two_places = letter != "%M" or all(len(text) == 2 for text in whole)
    return two_places and len(whole) >= 0.95 * len(texts)


def _never_changes(sample: Sequence[Sequence[str]], at: int) -> bool:
    return len({row[at] for row in sample}) < 2
