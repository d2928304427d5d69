"""Small series for tests."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from scheduling.weather.series import Series, series_of

START = datetime(2025, 6, 2, tzinfo=UTC)


def wind(values: Sequence[float], *, step_min: int = 60, height_m: float = 80.0, **changes: object) -> Series:
    """A wind series from 2 June 2025 00:00 UTC."""
    settings: dict[str, object] = {"start": START, "averaging_min": 10.0, "name": "w", "variable": "wind"} | changes
    return series_of(values=np.array(values, dtype=float), step_min=step_min, height_m=height_m, **settings)  # type: ignore[arg-type]
