"""When people may go up: the openings of one place, in slots."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.access.windows import FloatArray, IntArray, windows


@dataclass(frozen=True)
class Opening:
    """An unbroken row of starts whose stay fits: `first_start` to `last_start`, the last safe one.

    down_by     the slot by whose beginning people who went up at the last safe start must be down
    """

    first_start: int
    last_start: int
    down_by: int


def openings(chances: FloatArray, room: IntArray, confidence: float) -> list[Opening]:
    """The openings of one place, in order of time.

    chances     [t]: chance of the stay from each start
    room        [t]: longest stay from each start at the same confidence (`windows.room_ahead`)
    """
    found = []
    for first, length in windows(chances >= confidence - 1e-9):
        last = first + length - 1
        found.append(Opening(first, last, last + int(room[last])))
    return found
