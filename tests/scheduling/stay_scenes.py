"""Stays people were told on the tiny farm, forecasts of a steady wind for them, and what a mast then measured.

H1 and H2 have their hub at 100 m, where the wind is given too: nothing has to be carried. A lamp is changed at H2 inside the
limit set `tower` (10-min wind 12 m/s, 3-s gust 16 m/s).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from scheduling.models import Plan, StayCall, Visit, WeatherFeed, WeatherSet
from scheduling.services.weather import weather_store
from scheduling.weather.series import Flag, Series, series_of
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order, build_plan, build_visit

ISSUED = NOW - timedelta(hours=3)


def told(
    farm: Farm, day: date = TODAY + timedelta(days=1), start: time = time(10), hours: float = 3, number: str = "HILL-1"
) -> Visit:
    """A lamp at H2, published: from 10:00 local (08:00 UTC) tomorrow to 13:00."""
    plan = Plan.objects.filter(state="published").first() or build_plan(farm)
    return build_visit(plan, farm, build_order(farm.h2, farm, number, work="lamp"), day=day, start=start, hours=hours)


def forecast(farm: Farm, mps: float = 6.0, issued_at: datetime = ISSUED, hours: int = 96, gust: bool = True) -> WeatherSet:
    """Steady hourly wind at 100 m from the issue on, with gusts 1.2 times as strong."""
    start = issued_at.replace(minute=0)
    steady = np.full(hours, mps)
    series = [series_of("wind", steady, start=start, step_min=60, height_m=100, averaging_min=10)]
    if gust:
        series.append(series_of("gust", steady * 1.2, start=start, step_min=60, height_m=100, averaging_min=0.05))
    return weather_store(site=farm.hill, kind="forecast", series=tuple(series), issued_at=issued_at)[0]


def measured(
    farm: Farm,
    wind: Sequence[float],
    *,
    start: datetime,
    gust: Sequence[float] | None = None,
    flagged: Sequence[int] = (),
    feed: WeatherFeed | None = None,
    step_min: int = 10,
) -> WeatherSet:
    """Ten-minute wind (and gust) of a mast at 100 m from `start` on; steps in `flagged` are marked as stuck."""
    series = [_series("wind", wind, start, step_min, 10, flagged)]
    if gust is not None:
        series.append(_series("gust", gust, start, step_min, 0.05, ()))
    return weather_store(site=farm.hill, kind="observed", series=tuple(series), feed=feed)[0]


def _series(
    name: str, values: Sequence[float], start: datetime, step_min: int, averaging_min: float, flagged: Sequence[int]
) -> Series:
    made = series_of(
        name, np.array(values, dtype=float), start=start, step_min=step_min, height_m=100, averaging_min=averaging_min
    )
    flags = made.flags.copy()
    flags[list(flagged)] |= int(Flag.STUCK)
    return made.with_values(made.values, flags=flags)


def called(visit: Visit, chance: float, *, lead_h: float = 30, fitted: bool | None = None) -> StayCall:
    """A call as it would stand in the table."""
    return StayCall.objects.create(
        visit=visit, site=visit.turbine.site, issued_at=visit.starts_at - timedelta(hours=lead_h), starts_at=visit.starts_at,
        ends_at=visit.ends_at, lead_h=lead_h, chance=chance, go=chance >= 0.8, limits=["tower"], fitted=fitted,
        scored_at=None if fitted is None else NOW,
    )  # fmt: skip


def past_visits(farm: Farm, count: int) -> list[Visit]:
    """Stays of the last days, one a day, 08:00 to 11:00 UTC, the newest yesterday."""
    plan = Plan.objects.filter(state="published").first() or build_plan(farm)
    return Visit.objects.bulk_create(
        Visit(
            plan=plan, turbine=farm.h2, day=TODAY - timedelta(days=n), starts_at=_at(n), ends_at=_at(n) + timedelta(hours=3),
            down_by=_at(n) + timedelta(hours=3), chance=0.9, by="lift",
        )
        for n in range(1, count + 1)
    )  # fmt: skip


def _at(days_ago: int) -> datetime:
    return datetime.combine(TODAY - timedelta(days=days_ago), time(8), tzinfo=UTC)
