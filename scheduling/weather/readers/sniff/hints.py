"""What a file says in words around its table: zone, start or end of the step, a legend of its columns."""

from __future__ import annotations

import re
from collections.abc import Sequence

_ZONE = re.compile(r"(?<![A-Za-z])(?:UTC|GMT)(?: ?(?P<sign>[+-]) ?(?P<h>\d{1,2})(?::?(?P<m>\d{2}))?)?(?![A-Za-z\d])")
_ABOUT_ZONE = re.compile(r"(?i)time|zone|zeit|stamp")
_STEP = r"(?:the |each |its )?(?:averaging |time |logging |recording )?(?:step|interval|period)"
_START = re.compile(rf"(?i)\b(?:beginning|start) of {_STEP}")
_END = re.compile(rf"(?i)\bend of {_STEP}|\bhour ending\b")
_LEGEND = re.compile(r"\s*([^:=\t]{1,40}?)\s*[:=]\s*(.+)")


def zone_in(text: str) -> str | None:
    """The zone that a text names by its distance from UTC ("time(UTC)", "GMT+1"); None where it names none or two."""
    found = {_offset(match) for match in _ZONE.finditer(text)}
    return found.pop() if len(found) == 1 else None


def zone_around(lines: Sequence[str]) -> tuple[str, str] | None:
    """(zone, line) of the lines around a table that speak of time; None unless all of them agree."""
    found = {zone: line for line in lines if _ABOUT_ZONE.search(line) and (zone := zone_in(line))}
    return next(iter(found.items())) if len(found) == 1 else None


def stamp_around(lines: Sequence[str]) -> tuple[str, str] | None:
    """("start" or "end", the line that says so); None unless the lines say one of them."""
    starts = [line for line in lines if _START.search(line)]
    ends = [line for line in lines if _END.search(line)]
    if bool(starts) == bool(ends):
        return None
    return ("start", starts[0]) if starts else ("end", ends[0])


def legend(lines: Sequence[str], names: Sequence[str]) -> dict[str, str]:
    """Header -> what a line such as "WS10m: 10-m total wind speed (m/s)" says of it."""
    found = {}
    for line in lines:
        matched = _LEGEND.fullmatch(line)
        if matched and matched[1] in names:
            found[matched[1]] = matched[2]
    return found


def _offset(match: re.Match[str]) -> str:
    hours, minutes = int(match["h"] or 0), int(match["m"] or 0)
    if hours == minutes == 0:
        return "UTC"
    return f"UTC{match['sign']}{hours:02}:{minutes:02}"
