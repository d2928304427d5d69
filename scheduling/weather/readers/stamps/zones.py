"""Stamps by a zone's clock to UTC. The hour a zone has twice is told apart by the order of the rows, or refused."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import FIXED_ZONE

Seconds = NDArray[np.int64]

_EPOCH = datetime(1970, 1, 1)


def from_zone(local: Seconds, lines: Sequence[int], zone: str) -> Seconds:
    """Seconds since 1970 UTC [n] of stamps by the clock of a zone: UTC, UTC+01:00 and the like, or an IANA name."""
    fixed = re.fullmatch(FIXED_ZONE, zone)
    if fixed:
        sign, hours, minutes = fixed["sign"], int(fixed["h"] or 0), int(fixed["m"] or 0)
        offset = hours * 3600 + minutes * 60
        return local + offset if sign == "-" else local - offset
    return _from_clock(local, lines, zone) if len(local) else local


def _from_clock(local: Seconds, lines: Sequence[int], zone: str) -> Seconds:
    places = ZoneInfo(zone)
    unique, back = np.unique(local, return_inverse=True)
    first, second = (np.array([_offset_at(at, places, fold) for at in unique])[back] for fold in (0, 1))
    missing = np.flatnonzero(first < second)
    if len(missing):
        raise ReadRefused(
            f"line{_listed(missing, lines)}: {_shown(local[missing[0]])} does not exist in {zone} (clocks go forward); "
            "export the file in UTC or correct the rows"
        )
    doubled = first > second
    offset = first.copy()
    for rows in _blocks(local, doubled):
        offset[_second_pass(local, rows, lines, zone)] = second[rows[0]]
    utc: Seconds = local - offset
    return utc


def _offset_at(local: int, places: ZoneInfo, fold: int) -> int:
    moment = (_EPOCH + timedelta(seconds=int(local))).replace(tzinfo=places, fold=fold)
    return int((moment.utcoffset() or timedelta()).total_seconds())


def _blocks(local: Seconds, doubled: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """The row numbers of each doubled hour: rows of one local day."""
    rows = np.flatnonzero(doubled)
    days = local[rows] // 86400
    return [rows[days == day] for day in np.unique(days)]


def _second_pass(local: Seconds, rows: NDArray[np.intp], lines: Sequence[int], zone: str) -> NDArray[np.intp]:
    """The rows of the second pass: after the one step back, when the rows stand together in their order."""
    newest_first = local[0] > local[-1]
    ordered = rows[::-1] if newest_first else rows
    steps = np.diff(local[ordered])
    back = np.flatnonzero(steps <= 0)
    together = rows[-1] - rows[0] == len(rows) - 1
    if not together or len(back) != 1:
        raise ReadRefused(
            f"line{_listed(rows, lines)}: {_shown(local[rows[0]])} falls into the hour that {zone} has twice, and the order "
            "of the rows does not tell which; give the rows in their original order, in UTC, or with offsets"
        )
    return ordered[back[0] + 1 :]


def _listed(rows: NDArray[np.intp], lines: Sequence[int]) -> str:
    shown = ", ".join(str(lines[row]) for row in rows[:12])
    more = f" and {len(rows) - 12} more" if len(rows) > 12 else ""
    return f"{'s' if len(rows) > 1 else ''} {shown}{more}"


def _shown(local: int) -> str:
    return f"{datetime.fromtimestamp(int(local), tz=UTC):%Y-%m-%d %H:%M}"
