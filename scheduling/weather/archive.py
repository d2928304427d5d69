"""Series as one compressed array file and back: how weather rests in a database row."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import numpy as np

from scheduling.weather.series import Series


def pack_series(series: Sequence[Series]) -> tuple[bytes, list[dict[str, Any]]]:
    """(array file, description of each series) of series on one grid.

    The file holds values0/flags0, values1/flags1, ...; values rest as float32 and come back rounded to 4
    decimals, so that 12.1 is 12.1 again and not a hair above a limit.
    """
    arrays: dict[str, Any] = {}
    for number, one in enumerate(series):
        arrays[f"values{number}"] = one.values.astype(np.float32)
        arrays[f"flags{number}"] = one.flags
    target = io.BytesIO()
    np.savez_compressed(target, **arrays)
    return target.getvalue(), [_about(one) for one in series]


def unpack_series(data: bytes, about: Sequence[dict[str, Any]], start: datetime, step_min: int) -> tuple[Series, ...]:
    """The series that `pack_series` packed, on the grid that begins at `start` (UTC)."""
    with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
        return tuple(
            Series(
                variable=one["variable"],
                height_m=one["height_m"],
                averaging_min=one["averaging_min"],
                start=start,
                step_min=step_min,
                values=np.round(arrays[f"values{number}"].astype(np.float64), 4),
                flags=arrays[f"flags{number}"],
                name=one["name"],
                member=one.get("member", 0),
            )
            for number, one in enumerate(about)
        )


def _about(one: Series) -> dict[str, Any]:
    about = {
        "variable": one.variable,
        "unit": one.unit,
        "height_m": one.height_m,
        "averaging_min": one.averaging_min,
        "name": one.name,
    }
    # Left out for a single forecast, so that content stored before ensembles came keeps its digest.
    return about | {"member": one.member} if one.member else about
