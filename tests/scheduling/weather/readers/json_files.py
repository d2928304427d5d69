"""Recipes and small documents for the tests of forecast JSON."""

from __future__ import annotations

import json
from typing import Any

from scheduling.weather.recipe import Recipe, recipe_from_json


def column(path: str, variable: str = "wind", **changes: Any) -> dict[str, Any]:
    """A column of a recipe: the unit in the text, 10 m, 10 min means; then the changes."""
    return {"column": path, "variable": variable, "unit": "in text", "height_m": 10, "averaging_min": 10} | changes


def json_recipe(*columns: dict[str, Any], times: tuple[str, ...] = ("hours[].time",), **changes: Any) -> Recipe:
    """A recipe of these columns; ISO times with offsets, each the start of its step; then the changes."""
    plain = {
        "name": "hand-made",
        "reader": "json",
        "columns": list(columns) or [column("hours[].wind", unit="m/s")],
        "time_columns": list(times),
        "time_format": "iso",
        "stamp": "start",
        "zone": "in text",
    }
    return recipe_from_json(plain | changes)


def document(**keys: Any) -> bytes:
    """A JSON file of these keys."""
    return json.dumps(keys).encode()


def hours(*winds: Any, start: int = 0, step: int = 1, key: str = "wind") -> list[dict[str, Any]]:
    """Items of 2 June 2025 from hour `start`, every `step` hours, each with a time and a value."""
    times = (start + number * step for number in range(len(winds)))
    return [
        {"time": f"2025-06-{2 + at // 24:02d}T{at % 24:02d}:00:00Z", key: wind} for at, wind in zip(times, winds, strict=True)
    ]
