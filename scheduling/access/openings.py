"""When people may go up at one place, when not and why not; in slots."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scheduling.access.judge import Bindings
from scheduling.access.windows import BoolArray, FloatArray, IntArray, windows


@dataclass(frozen=True)
class Opening:
    """An unbroken row of starts whose stay fits: `first_start` to `last_start`, the last safe one.

    down_by     the slot by whose beginning people who went up at the last safe start must be down
    """

    first_start: int
    last_start: int
    down_by: int


@dataclass(frozen=True)
class Closing:
    """A row of slots [first, past) that one limit closes; at slot `worst` it is passed by most."""

    first: int
    past: int
    worst: int


def closings(closed: BoolArray, bindings: Bindings) -> list[Closing]:
    """What closes the closed slots of one place (bool [t]), in order of time, a new one where the limit changes."""
    found = []
    for first, length in windows(closed):
        which = bindings.index[first : first + length]
        bounds = [0, *(np.flatnonzero(np.diff(which)) + 1), length]
        for low, high in pairwise(bounds):
            found.append(
                Closing(first + int(low), first + int(high), first + int(low) + _worst(bindings, first + low, first + high))
            )
    return found


def _worst(bindings: Bindings, first: int, past: int) -> int:
    index = int(bindings.index[first])
    values = bindings.value[first:past]
    if not 0 <= index < len(bindings.limits) or np.isnan(values).all():
        return 0
    return int(np.nanargmax(values) if bindings.limits[index].is_upper else np.nanargmin(values))


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
