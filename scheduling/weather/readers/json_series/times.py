"""When each item of a list holds: an instant, an ISO 8601 interval, or a start and an end of its own."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduling.weather.readers.json_series.paths import ListPath, dig
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.stamps import to_utc_seconds
from scheduling.weather.readers.timed import Seconds, Times
from scheduling.weather.recipe import Recipe

#: time_format of "2022-02-03T21:00:00+00:00/PT2H" and of whole seconds since 1970 UTC.
INTERVAL, UNIX = "iso interval", "unix"
_DURATION = re.compile(r"P(?:(\d+)W)?(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?")
_LENGTHS_S = (7 * 86400, 86400, 3600, 60, 1)


def times_of(items: Sequence[Any], paths: Sequence[ListPath], recipe: Recipe) -> Times:
    """The times of a list. `paths`: one (instants or ISO intervals) or two (start, end); items without are left out.

    Raises ReadRefused naming the item when a time cannot be read, has no zone, or ends before it starts.
    """
    raw = [[dig(item, path.after) for path in paths] for item in items]
    kept = [number for number, texts in enumerate(raw) if all(text not in (None, "") for text in texts)]
    if not kept:
        raise ReadRefused(f"{paths[0].text}: none of the {len(items)} items has a time; there is nothing to read in this file.")
    columns = [[raw[number][which] for number in kept] for which in range(len(paths))]
    starts, ends = _spans(columns, kept, paths, recipe)
    if ends is not None and (ends <= starts).any():
        wrong = kept[int(np.argmax(ends <= starts))]
        raise ReadRefused(f"{paths[-1].at(wrong)}: the interval ends before it starts; correct it")
    return Times(np.array(kept, dtype=np.int64), starts, ends, len(items))


def _spans(
    columns: list[list[Any]], kept: list[int], paths: Sequence[ListPath], recipe: Recipe
) -> tuple[Seconds, Seconds | None]:
    if recipe.time_format == INTERVAL:
        return _intervals(columns[0], kept, paths[0], recipe.zone)
    seconds = [_seconds(column, kept, path, recipe) for column, path in zip(columns, paths, strict=True)]
    return seconds[0], seconds[1] if len(seconds) > 1 else None


def _seconds(raw: list[Any], kept: list[int], path: ListPath, recipe: Recipe) -> Seconds:
    if recipe.time_format == UNIX:
        return _unix(raw, kept, path)
    return _from_texts(
        [_text(one, path.at(at)) for one, at in zip(raw, kept, strict=True)], kept, path, recipe.time_format, recipe.zone
    )


def _from_texts(texts: list[str], kept: list[int], path: ListPath, time_format: str, zone: str) -> Seconds:
    try:
        return to_utc_seconds(texts, kept, time_format, zone)
    except ReadRefused as error:
        # The stamps module counts lines; in a list of times they are items, from 0 as in the path.
        raise ReadRefused(re.sub(r"^line(s?) ", rf"{path.text}, item\1 ", str(error))) from None


def _unix(raw: list[Any], kept: list[int], path: ListPath) -> Seconds:
    for one, at in zip(raw, kept, strict=True):
        if isinstance(one, bool) or not isinstance(one, int) or not 0 <= one < 7_258_118_400:
            raise ReadRefused(f"{path.at(at)}: {one!r} is no whole number of seconds since 1970; correct the time_format")
    return np.array(raw, dtype=np.int64)


def _intervals(raw: list[Any], kept: list[int], path: ListPath, zone: str) -> tuple[Seconds, Seconds]:
    halves = [_text(one, path.at(at)).partition("/") for one, at in zip(raw, kept, strict=True)]
    starts = _from_texts([first for first, _, _ in halves], kept, path, "iso", zone)
    ends = np.empty_like(starts)
    for row, (_, slash, last) in enumerate(halves):
        length = _duration_s(last)
        if not slash or (length is None and not re.match(r"\d{4}-", last)):
            raise ReadRefused(f"{path.at(kept[row])}: {raw[row]!r} is no interval such as 2026-03-01T06:00:00Z/PT1H; correct it")
        ends[row] = starts[row] + length if length is not None else _from_texts([last], [kept[row]], path, "iso", zone)[0]
    return starts, ends


def _duration_s(text: str) -> int | None:
    """Seconds of a duration of weeks, days, hours, minutes and seconds; months and years have no fixed length."""
    found = _DURATION.fullmatch(text)
    if found is None or not any(found.groups()):
        return None
    return sum(int(part or 0) * length for part, length in zip(found.groups(), _LENGTHS_S, strict=True))


def _text(raw: Any, place: str) -> str:
    if not isinstance(raw, str):
        raise ReadRefused(f"{place}: {raw!r} is no text of a time; state time_format {UNIX!r} for seconds since 1970")
    return raw
