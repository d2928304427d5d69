"""Stamps that all have the same width, at once: digits as a byte matrix, no loop over rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.readers.stamps.patterns import ISO

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_WIDTHS = {"Y": 4, "y": 2, "m": 2, "d": 2, "H": 2, "M": 2, "S": 2}
#: %z as written; h and n are the hours and minutes of the offset, "±" its sign.
_OFFSETS = ("Z", "±hh:nn", "±hhnn")
_ISO_TIMES = ("%H:%M", "%H:%M:%S")


def fixed_width(texts: Sequence[str], time_format: str) -> tuple[Ints, NDArray[np.float64], Bools]:
    """(seconds by the clock as written [n], offset in s or NaN [n], which rows were read [n]).

    Rows of another width, or with anything out of the ordinary, are left for the slow reading.
    """
    count = len(texts)
    nothing = np.zeros(count, dtype=np.int64), np.full(count, np.nan), np.zeros(count, dtype=bool)
    try:
        table = np.array(texts, dtype="S")
    except UnicodeEncodeError:
        return nothing
    width = table.itemsize
    fitting = [layout for layout in _layouts(time_format) if len(layout) == width] if count else []
    if not fitting:
        return nothing
    marks = table.view(np.uint8).reshape(count, width)
    return max((_read(marks, layout) for layout in fitting), key=lambda read: int(read[2].sum()))


@cache
def _layouts(time_format: str) -> tuple[tuple[str, ...], ...]:
    """The ways to write a format at a fixed width, one entry a character: a letter of a field, or "=" and a sign."""
    if time_format == ISO:
        plain = [f"%Y-%m-%d{between}{time}" for between in "T " for time in _ISO_TIMES]
        return tuple(layout for one in plain for tail in ("", "%z") for layout in _layouts(one + tail))
    pieces = re.split(r"%(.)", time_format)
    if any(letter not in {*_WIDTHS, "z"} for letter in pieces[1::2]):
        return ()
    found: list[tuple[str, ...]] = [()]
    for at, piece in enumerate(pieces):
        if at % 2 == 0:
            found = [layout + tuple(f"={sign}" for sign in piece) for layout in found]
        elif piece == "z":
            found = [layout + _signs(offset) for layout in found for offset in _OFFSETS]
        else:
            found = [layout + (piece,) * _WIDTHS[piece] for layout in found]
    return tuple(found)


def _signs(offset: str) -> tuple[str, ...]:
    return tuple(sign if sign in "±hn" else f"={sign}" for sign in offset)


def _read(marks: NDArray[np.uint8], layout: tuple[str, ...]) -> tuple[Ints, NDArray[np.float64], Bools]:
    good = np.ones(len(marks), dtype=bool)
    fields: dict[str, Ints] = {}
    for at, entry in enumerate(layout):
        column = marks[:, at]
        if entry.startswith("="):
            good &= column == ord(entry[1])
        elif entry == "±":
            good &= (column == ord("+")) | (column == ord("-"))
            fields["±"] = np.where(column == ord("-"), -1, 1).astype(np.int64)
        else:
            good &= (column >= ord("0")) & (column <= ord("9"))
            fields[entry] = fields.get(entry, np.zeros(len(marks), dtype=np.int64)) * 10 + column - ord("0")
    seconds, sound = _seconds(fields)
    offsets, fine = _offsets(fields, layout, len(marks))
    good &= sound & fine
    return np.where(good, seconds, 0), np.where(good, offsets, np.nan), good


def _seconds(fields: dict[str, Ints]) -> tuple[Ints, Bools]:
    none = np.zeros_like(fields["d"])
    year = fields["Y"] if "Y" in fields else 2000 + fields["y"]
    month, day, hour = fields["m"], fields["d"], fields["H"]
    minute, second = fields.get("M", none), fields.get("S", none)
    sound = (year >= 1900) & (year <= 2200) & (month >= 1) & (month <= 12) & (day >= 1) & (minute <= 59) & (second <= 59)
    sound &= (hour <= 23) | ((hour == 24) & (minute == 0) & (second == 0))
    months = np.where(sound, (year - 1970) * 12 + month - 1, 0)
    first, following = (_day_of(months), _day_of(months + 1))
    sound &= day <= following - first
    return (first + day - 1) * 86400 + hour * 3600 + minute * 60 + second, sound


def _day_of(months: Ints) -> Ints:
    return months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)


def _offsets(fields: dict[str, Ints], layout: tuple[str, ...], count: int) -> tuple[NDArray[np.float64], Bools]:
    if "h" not in fields:
        return np.full(count, 0.0 if layout[-1] == "=Z" else np.nan), np.ones(count, dtype=bool)
    hours, minutes = fields["h"], fields["n"]
    return (fields["±"] * (hours * 3600 + minutes * 60)).astype(np.float64), (hours <= 15) & (minutes <= 59)
