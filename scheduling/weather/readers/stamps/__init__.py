"""Time stamps as written to UTC.

A clock that is set back is followed by the order of the file, never by a guess.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.faults import Fault, refuse_first
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.stamps.fixed import fixed_width
from scheduling.weather.readers.stamps.patterns import checked_format, moment_of
from scheduling.weather.readers.stamps.zones import Seconds, from_zone
from scheduling.weather.recipe import IN_TEXT


@dataclass(frozen=True, eq=False)
class Stamps:
    """The stamps of the rows in the file's order.

    utc_s [n] seconds since 1970 UTC; local_s [n] the same by the clock as written; faults: rows that hold no
    time (their numbers are 0)
    """

    utc_s: Seconds
    local_s: Seconds
    faults: tuple[Fault, ...]


def read_stamps(texts: Sequence[str], lines: Sequence[int], time_format: str, zone: str) -> Stamps:
    """The stamps of a file; a row that holds no time is a fault and leaves the others as they are.

    A naive stamp in a zone with a repeated hour is told apart by the order of the rows (first pass, then
    second); if the order does not tell, or a stamp does not exist in the zone, ReadRefused names the lines.
    """
    checked_format(time_format)
    local, offsets, good = fixed_width(texts, time_format)
    faults = _one_by_one(texts, lines, time_format, local, offsets, good)
    faults += _offsets_beside(texts, lines, zone, offsets, good)
    utc = np.zeros(len(local), dtype=np.int64)
    rows = np.flatnonzero(good)
    if zone == IN_TEXT:
        utc[rows] = local[rows] - offsets[rows].astype(np.int64)
    else:
        utc[rows] = from_zone(local[rows], [lines[row] for row in rows.tolist()] if faults else lines, zone)
    return Stamps(utc, local, tuple(faults))


def to_utc_seconds(texts: Sequence[str], lines: Sequence[int], time_format: str, zone: str) -> Seconds:
    """Seconds since 1970 UTC [n]. Raises ReadRefused at the first row that holds no time."""
    stamps = read_stamps(texts, lines, time_format, zone)
    refuse_first(stamps.faults)
    return stamps.utc_s


def _one_by_one(
    texts: Sequence[str],
    lines: Sequence[int],
    time_format: str,
    local: Seconds,
    offsets: NDArray[np.float64],
    good: NDArray[np.bool_],
) -> list[Fault]:
    """The rows that the fast reading left over, each on its own; fills the arrays and gives the faults."""
    faults = []
    for row in np.flatnonzero(~good).tolist():
        try:
            local[row], offset = moment_of(texts[row], time_format)
        except ValueError:
            reason = f"{texts[row]!r} is no time of the form {time_format!r}; correct it or the time_format"
            faults.append(Fault(row, lines[row], reason))
            continue
        good[row] = True
        offsets[row] = np.nan if offset is None else offset
    return faults


def _offsets_beside(
    texts: Sequence[str], lines: Sequence[int], zone: str, offsets: NDArray[np.float64], good: NDArray[np.bool_]
) -> list[Fault]:
    """Offsets must stand where the recipe says they do and nowhere else; rows at fault are taken out of `good`."""
    stated = np.isfinite(offsets)
    wrong = np.flatnonzero(good & ~stated) if zone == IN_TEXT else np.flatnonzero(good & stated)
    cure = "carries no offset; state the time zone of the file"
    if zone != IN_TEXT:
        cure = f"carries an offset; state the zone as {IN_TEXT!r}"
    good[wrong] = False
    return [Fault(row, lines[row], f"{texts[row]!r} {cure}") for row in wrong.tolist()]


__all__ = ["ReadRefused", "Seconds", "Stamps", "read_stamps", "to_utc_seconds"]
