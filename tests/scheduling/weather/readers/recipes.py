"""A recipe for small hand-made files."""

from __future__ import annotations

from typing import Any

from scheduling.weather.recipe import Recipe, recipe_from_json


def recipe(**changes: Any) -> Recipe:
    """Column `ws`, wind in m/s at 80 m, 10 min means; column `time`, ISO, start of the step, UTC; then the changes."""
    column = {"column": "ws", "variable": "wind", "unit": "m/s", "height_m": 80, "averaging_min": 10}
    plain: dict[str, Any] = {
        "name": "hand-made",
        "columns": [column | changes.pop("column", {})],
        "time_columns": ["time"],
        "time_format": "iso",
        "stamp": "start",
        "zone": "UTC",
    }
    return recipe_from_json(plain | changes)


def text(*rows: str, head: str = "time,ws") -> bytes:
    """A file of these rows under a header."""
    return "\n".join([head, *rows]).encode()
