"""A site with half a year of calls, two forecasts that differ, and two feeds of which one has stopped."""

from __future__ import annotations

from datetime import time, timedelta

import numpy as np

from scheduling.models import Plan, StayCall, Visit, WeatherFeed, WeatherSet
from scheduling.services.stay_calls import calls_record, calls_score
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_forecast, build_order, build_visit
from tests.scheduling.stay_scenes import measured, past_visits

DAYS = 130
WHY = "10 min wind at hub missing or flagged for 40 of 180 min, first at 09:20 UTC"


def build_weather(farm: Farm) -> None:
    """See the module. Outcomes are drawn (seeded) so that calls are a little too sure of themselves."""
    mast = WeatherFeed.objects.create(site=farm.hill, name="mast at H2", kind="observed", recipe={}, every_h=1)
    model = WeatherFeed.objects.create(site=farm.hill, name="wind model", kind="forecast", recipe={}, every_h=6)
    past = build_past(farm)
    last = past[0]
    row = measured(farm, [9.4] * 18, gust=[11.8] * 18, start=last.starts_at, feed=mast)
    WeatherSet.objects.filter(pk=row.pk).update(received_at=NOW - timedelta(hours=19))
    calls_score(site=farm.hill, first=last.starts_at, last=last.ends_at, now=NOW)
    build_ahead(farm)
    for hours, mps in ((9, 8.6), (3, 10.2)):
        forecast = build_forecast(farm.hill, issued_at=NOW - timedelta(hours=hours), wind_mps=mps)
        WeatherSet.objects.filter(pk=forecast.pk).update(feed=model, received_at=NOW - timedelta(hours=hours - 1))
        calls_record(forecast=forecast, now=NOW - timedelta(hours=hours - 1))


def build_past(farm: Farm) -> list[Visit]:
    """One stay a day, called on five lead days, each day's call nearer to what came."""
    draw = np.random.default_rng(11)
    visits = past_visits(farm, DAYS)
    likely = np.clip(draw.beta(2.4, 0.8, len(visits)), 0, 1)
    came = draw.random(len(visits)) < likely
    StayCall.objects.bulk_create(
        StayCall(
            visit=visit, site=farm.hill, issued_at=visit.starts_at - timedelta(hours=24 * day - 18), starts_at=visit.starts_at,
            ends_at=visit.ends_at, lead_h=24 * day - 18, chance=chance, go=chance >= 0.8, limits=["tower"],
            fitted=None if n == 0 else bool(fits), scored_at=None if n == 0 else NOW,
        )
        for n, (visit, share, fits) in enumerate(zip(visits, likely, came, strict=True))
        for day in range(1, 6)
        for chance in [round(float(np.clip(share + 0.04 + draw.normal(0, 0.03 * day), 0, 1)) * 20) / 20]
    )  # fmt: skip
    StayCall.objects.filter(visit=visits[1]).update(
        fitted=None, scored_at=None, about={"measured": {"why": WHY}}
    )  # fmt: skip
    return visits


def build_ahead(farm: Farm) -> None:
    """Four stays of the coming days, and one that no forecast reaches."""
    plan = Plan.objects.get()
    rows = (
        (0, 10, farm.h1, "lamp"),
        (0, 13, farm.h2, "service"),
        (1, 9, farm.h2, "lamp"),
        (2, 9, farm.h1, "oil"),
        (7, 9, farm.h1, "lamp"),
    )
    for number, (ahead, hour, turbine, work) in enumerate(rows):
        order = build_order(turbine, farm, f"HILL-{number + 1}", work=work)
        build_visit(plan, farm, order, day=TODAY + timedelta(days=ahead), start=time(hour), hours=3)
