"""Time stamps as written to UTC.

A clock that is set back is followed by the order of the file, never by a guess.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import IN_TEXT

Seconds = NDArray[np.int64]

_PARTS = {
    "Y": r"(?P<Y>\d{4})",
    "y": r"(?P<y>\d{2})",
    "m": r"(?P<m>\d{1,2})",
    "d": r"(?P<d>\d{1,2})",
    "H": r"(?P<H>\d{1,2})",
    "M": r"(?P<M>\d{2})",
    "S": r"(?P<S>\d{2})",
    "z": r"(?P<z>Z|[+-]\d{2}:?\d{2})",
}
_ISO = (
    r"(?P<Y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})[T ](?P<H>\d{2}):(?P<M>\d{2})"
    r"(?::(?P<S>\d{2})(?:\.0+)?)?(?P<z>Z|[+-]\d{2}:?\d{2})?"
)
_EPOCH = datetime(1970, 1, 1)


def to_utc_seconds(texts: Sequence[str], lines: Sequence[int], time_format: str, zone: str) -> Seconds:
    """Seconds since 1970 UTC [n] of the stamps as they stand in the file's order.

    A naive stamp in a zone with a repeated hour is told apart by the order of the rows (first pass, then
    second); if the order does not tell, or a stamp does not exist in the zone, ReadRefused names the lines.
    """
    local, offsets = _parse(texts, lines, time_format)
    if zone == IN_TEXT:
        stated: Seconds = local - _all_offsets(offsets, texts, lines)
        return stated
    if any(offset is not None for offset in offsets):
        at = next(i for i, offset in enumerate(offsets) if offset is not None)
        raise ReadRefused(f"line {lines[at]}: {texts[at]!r} carries an offset; state the zone as {IN_TEXT!r}")
    return local if zone == "UTC" else _from_zone(local, lines, zone)


def _parse(texts: Sequence[str], lines: Sequence[int], time_format: str) -> tuple[Seconds, list[int | None]]:
    pattern = _pattern(time_format)
    local = np.empty(len(texts), dtype=np.int64)
    offsets: list[int | None] = []
    for i, text in enumerate(texts):
        found = pattern.fullmatch(text.strip())
        try:
            if found is None:
                raise ValueError
            local[i], offset = _moment(found.groupdict())
        except ValueError:
            raise ReadRefused(
                f"line {lines[i]}: {text!r} is no time of the form {time_format!r}; correct it or the time_format"
            ) from None
        offsets.append(offset)
    return local, offsets


def _pattern(time_format: str) -> re.Pattern[str]:
    if time_format == "iso":
        return re.compile(_ISO)
    pieces = re.split(r"%(.)", time_format)
    if any(letter not in _PARTS for letter in pieces[1::2]) or len(set(pieces[1::2])) < len(pieces[1::2]):
        raise ReadRefused(f"time_format: {time_format!r} may hold each of %{' %'.join(_PARTS)} once, or be 'iso'")
    if not {"m", "d", "H"} <= set(pieces[1::2]) or not {"Y", "y"} & set(pieces[1::2]):
        raise ReadRefused(f"time_format: {time_format!r} lacks a year, month, day or hour")
    pieces[1::2] = [_tight(letter, pieces) for letter in pieces[1::2]]
    pieces[0::2] = [re.escape(piece) for piece in pieces[0::2]]
    return re.compile("".join(pieces))


def _tight(letter: str, pieces: list[str]) -> str:
    """Digits that follow each other without a sign between them must have both places ("2018091500")."""
    crowded = "" in pieces[2:-1:2]
    return _PARTS[letter].replace("{1,2}", "{2}") if crowded else _PARTS[letter]


def _moment(parts: dict[str, str | None]) -> tuple[int, int | None]:
    year = int(parts.get("Y") or 0) or 2000 + int(parts.get("y") or 0)
    if not 1900 <= year <= 2200:
        raise ValueError
    moment = datetime(
        year,
        int(parts["m"] or 0),
        int(parts["d"] or 0),
        int(parts["H"] or 0),
        int(parts.get("M") or 0),
        int(parts.get("S") or 0),
    )
    gone = moment - _EPOCH
    return gone.days * 86400 + gone.seconds, _offset_s(parts.get("z"))


def _offset_s(text: str | None) -> int | None:
    if not text:
        return None
    if text == "Z":
        return 0
    sign = -1 if text[0] == "-" else 1
    hours, minutes = int(text[1:3]), int(text[-2:])
    if hours > 15 or minutes > 59:
        raise ValueError
    return sign * (hours * 3600 + minutes * 60)


def _all_offsets(offsets: list[int | None], texts: Sequence[str], lines: Sequence[int]) -> Seconds:
    for i, offset in enumerate(offsets):
        if offset is None:
            raise ReadRefused(f"line {lines[i]}: {texts[i]!r} carries no offset; state the time zone of the file")
    return np.array(offsets, dtype=np.int64)


def _from_zone(local: Seconds, lines: Sequence[int], zone: str) -> Seconds:
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
