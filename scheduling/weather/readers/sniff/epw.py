"""EnergyPlus weather files: a public format without a header; its data dictionary names columns, units and hours."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.sniff.dialect import read_text

_SOURCE = "the format's data dictionary (EPW)"
#: position, variable, unit and fill-in, from the data dictionary of the format (from memory).
_COLUMNS = (
    (22, "wind", "m/s", "999"),
    (21, "direction", "deg", "999"),
    (7, "temperature", "degC", "99.9"),
    (8, "dew_point", "degC", "99.9"),
    (10, "pressure", "Pa", "999999"),
    (9, "humidity", "%", "999"),
)
_FIELDS, _LONGEST_HEAD = 35, 40


def propose_epw(data: bytes, name: str) -> Proposal | None:
    """The proposal for such a file; None for any other. Hours run from 1 to 24 and name the end of their step."""
    if not data.lstrip(b"\xef\xbb\xbf").startswith(b"LOCATION,"):
        return None
    text, encoding = read_text(data)
    lines = text.splitlines()[:_LONGEST_HEAD]
    first = next((at for at, line in enumerate(lines) if line[:4].isdigit() and line.count(",") >= _FIELDS - 3), None)
    if first is None:
        raise ReadRefused(f"line 1 says LOCATION, but no row of data with {_FIELDS} cells follows; export the file again.")
    columns: list[dict[str, Any]] = [
        {"column": str(at), "variable": variable, "unit": unit, "missing": [fill]} for at, variable, unit, fill in _COLUMNS
    ]
    recipe: dict[str, Any] = {
        "name": PurePath(name).stem or "unnamed",
        "reader": "delimited",
        "encoding": encoding,
        "skip_rows": first,
        "header": False,
        "time_columns": ["1", "2", "3", "4"],
        "time_format": "%Y %m %d %H",
        "stamp": "end",
        "columns": columns,
    }
    sources = {"stamp": _SOURCE} | {f"columns.{at}.unit": _SOURCE for at, *_ in _COLUMNS}
    zone = _zone(lines[0])
    if zone is not None:
        recipe["zone"], sources["zone"] = zone, "the ninth cell of the line LOCATION"
    return Proposal(recipe, sources)


def _zone(line: str) -> str | None:
    """The zone of the first line, in hours from UTC."""
    cells = line.split(",")
    try:
        minutes = round(float(cells[8]) * 60)
    except (IndexError, ValueError):
        return None
    if abs(minutes) > 14 * 60:
        return None
    sign = "-" if minutes < 0 else "+"
    return "UTC" if minutes == 0 else f"UTC{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"
