"""Access windows of a turbine from the newest forecast."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from planner.cautions import CAUTION, STALE
from planner.errors import PlannerError
from planner.models import LimitSet, Turbine
from scheduling.access import Stay, binding_limit, chance, longest_window, workable
from scheduling.builders.cells import Cell, Span, forecast_cell
from scheduling.builders.horizon import SLOT_MIN
from scheduling.builders.limits import limit_set_of
from scheduling.selectors.weather import age_h, is_stale, newest_forecast

MOST_DAYS = 16


@dataclass(frozen=True)
class Windows:
    """Chance of a stay for every start from `start` on, each SLOT_MIN later; empty where the forecast is missing or stale.

    `limits` says for each start what binds there, or "" where the start reaches the confidence.
    """

    start: datetime
    chances: tuple[float, ...]
    limits: tuple[str, ...]
    confidence: float
    issued_at: datetime | None
    age_h: float | None
    shear: str
    longest_h: float
    note: str


def access_windows(*, turbine: Turbine, limit_set: LimitSet, stay_min: float, now: datetime, days: int = 10) -> Windows:
    """The chance of a stay of `stay_min` minutes at each start of the coming days.

    Raises PlannerError for a stay or a number of days that cannot be, or a limit set without limits.
    """
    if not 0 < stay_min <= 24 * 60 or not 1 <= days <= MOST_DAYS:
        raise PlannerError(f"Give a stay of 1 to 1440 minutes and 1 to {MOST_DAYS} days.", field="stay_min")
    site = turbine.site
    forecast = newest_forecast(site=site, at=now)
    start = now.replace(minute=now.minute // SLOT_MIN * SLOT_MIN, second=0, microsecond=0)
    if forecast is None or is_stale(forecast, site, now):
        issued = forecast.issued_at if forecast else None
        age = age_h(forecast, now) if forecast else None
        return Windows(start, (), (), site.confidence, issued, age, "", 0.0, STALE)
    span = Span(start, days * 24 * 60 // SLOT_MIN)
    cell = forecast_cell(site, turbine.hub_height_m, forecast, span, seed=forecast.pk)
    return _windows(cell, limit_set, stay_min, span, site.confidence, forecast.issued_at, age_h(forecast, now))


def _windows(
    cell: Cell, row: LimitSet, stay_min: float, span: Span, confidence: float, issued_at: datetime | None, age: float
) -> Windows:
    try:
        core = limit_set_of(row)
    except ValueError as error:
        raise PlannerError(str(error), field="limit_set") from error
    good = workable(cell.fields, core, cell.daylight)
    slots = Stay(0, stay_min).slots(SLOT_MIN)
    chances = chance(good, slots)
    enough = chances >= confidence - 1e-9
    limits = tuple("" if enough[n] else _binding(cell, row, n, slots, good) for n in range(span.slots))
    sure = good.mean(axis=0) >= confidence - 1e-9
    longest = longest_window(sure)
    hours = (longest[1] if longest else 0) * SLOT_MIN / 60.0
    values = tuple(round(float(x), 3) for x in chances)
    return Windows(span.start, values, limits, confidence, issued_at, round(age, 2), cell.shear, hours, CAUTION)


def _binding(cell: Cell, row: LimitSet, start: int, slots: int, good: np.ndarray) -> str:
    """What blocks a stay from `start`, at the slot at which most members are lost."""
    end = min(start + slots, good.shape[1])
    if end - start < slots:
        return "beyond the forecast"
    worst = start + int(np.argmin(good[:, start:end].mean(axis=0)))
    found = binding_limit(cell.fields, limit_set_of(row), worst, cell.daylight)
    if found is None:
        return "short spells in different hours"
    if found.variable == "daylight":
        return "dark"
    if found.value != found.value:
        return f"{found.variable} unknown"
    return f"{found.variable} {found.value:.1f}, limit {found.op} {found.limit:g}"


def window_starts(found: Windows) -> list[tuple[datetime, float, str]]:
    """(start, chance, what binds) of every start."""
    step = timedelta(minutes=SLOT_MIN)
    rows = zip(found.chances, found.limits, strict=True)
    return [(found.start + n * step, value, limit) for n, (value, limit) in enumerate(rows)]
