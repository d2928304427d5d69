"""Rows the pages show, on the tiny farm: orders, a forecast, plans, runs and a round."""

from __future__ import annotations

import html
import re
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import numpy as np
from django.contrib.auth.models import User
from django.test import Client

from planner.models import Site, Turbine, Vehicle
from scheduling.models import Plan, Round, RoundItem, Run, Visit, VisitJob, WeatherSet
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from tests.farm import NOW, TODAY, Farm
from workorders.models import Order

MONDAY = date(2026, 6, 8)
ISSUED = datetime(2026, 6, 10, 3, 0, tzinfo=UTC)


def build_order(turbine: Turbine, farm: Farm, number: str = "HILL-1", work: str = "service", **more: Any) -> Order:
    """An order raised by hand, due in ten days."""
    facts: dict[str, Any] = {"origin": "hand", "klass": "service", "due_on": TODAY + timedelta(days=10), "effort_left_h": 6}
    return Order.objects.create(number=number, turbine=turbine, procedure=farm.procedures[work], **{**facts, **more})


def build_forecast(site: Site, issued_at: datetime = ISSUED, wind_mps: float = 6.0, hours: int = 96) -> WeatherSet:
    """Hourly wind at 100 m that swings by 2 m/s about `wind_mps`."""
    start = issued_at.replace(minute=0, second=0)
    wind = wind_mps + 2 * np.sin(np.arange(hours) / 4)
    series = series_of("wind", wind, start=start, step_min=60, height_m=100, averaging_min=10, name="wind")
    gust = series_of("gust", wind * 1.3, start=start, step_min=60, height_m=100, averaging_min=0.05, name="gust")
    return weather_store(site=site, kind="forecast", series=(series, gust), issued_at=issued_at)[0]


def build_run(farm: Farm, state: str = "done", kind: str = "fortnight", **more: Any) -> Run:
    """A run with a value, a bound and a gap."""
    facts: dict[str, Any] = {"value": 12345.0, "bound": 12000.0, "gap": 0.028, "seconds": 12.0, "text": "Solved to the gap."}
    facts |= {"first_day": TODAY, "days": 14, "problem": {}, "params": {"time_limit_s": 60, "gap": 0.01}}
    return Run.objects.create(base=farm.north, kind=kind, state=state, **{**facts, **more})


def build_plan(farm: Farm, state: str = "published", **more: Any) -> Plan:
    """A fortnight from today; published an hour ago where published. Without visits."""
    told = {"published_at": NOW - timedelta(hours=1)} if state == "published" else {}
    facts = {"first_day": TODAY, "last_day": TODAY + timedelta(days=13), "value": 12345.0, "bound": 12000.0, **told}
    parts = {"lost energy": 800.0, "lateness": 120.5, "left out": 11424.5}
    return Plan.objects.create(base=farm.north, run=build_run(farm), state=state, parts=parts, **{**facts, **more})


def build_visit(
    plan: Plan, farm: Farm, order: Order, day: date = TODAY, start: time = time(9), hours: float = 4, who: str = "Ada Ben"
) -> Visit:
    """A visit by local clock of HILL; down by its end."""
    starts_at = datetime.combine(day, start, tzinfo=farm.hill.zone).astimezone(UTC)
    ends_at = starts_at + timedelta(hours=hours)
    visit = Visit.objects.create(
        plan=plan, turbine=order.turbine, vehicle=Vehicle.objects.first(), day=day, starts_at=starts_at, ends_at=ends_at,
        down_by=ends_at, chance=0.859, by="lift",
    )  # fmt: skip
    visit.people.set([farm.people[name] for name in who.split()])
    VisitJob.objects.create(visit=visit, order=order, work_min=120)
    return visit


def build_round(farm: Farm, weeks: int = 52) -> Round:
    """A year from Monday 8 June 2026: a service of H1 in week 1, an inspection of H2 in week 3, one item left out."""
    mondays = [MONDAY + timedelta(weeks=n) for n in range(weeks)]
    calm = [round(0.6 - 0.3 * np.cos(2 * np.pi * (n + 4) / 52 + np.pi), 3) for n in range(weeks)]
    problem = {"weeks": [{"monday": day.isoformat()} for day in mondays], "workable_share": {"tower": [calm, calm]}}
    about = {
        "weeks": [
            {"load_h": {"everybody": load}, "capacity_h": {"everybody": 20.0}, "fits_share": 0.5 if load > 20 else 1.0}
            for load in [24.0, *(4.0 * (n % 3) for n in range(1, weeks))]
        ],
        "lost_mwh_mean": 41.5, "lost_mwh_p90": 60.0, "finish_p50": "2026-06-28", "finish_p90": "", "history": 2,
        "done_mean": [min(1.0, 0.3 + 0.02 * n) for n in range(weeks)],
        "done_p10": [min(1.0, 0.1 + 0.018 * n) for n in range(weeks)],
        "parts": {"lost energy": 2490.0, "left out": 900.0}, "warnings": ["Only 2 past weather years are known."],
    }  # fmt: skip
    run = build_run(farm, kind="year", problem=problem)
    last_day = mondays[-1] + timedelta(days=6)
    made = Round.objects.create(base=farm.north, run=run, first_day=MONDAY, last_day=last_day, about=about)
    rows = ((farm.h1, "svc-12", mondays[0]), (farm.h2, "lift-12", mondays[2]), (farm.h3, "low-12", None))
    for turbine, code, week in rows:
        RoundItem.objects.create(
            round=made, turbine=turbine, interval=farm.intervals[code], due_on=date(2026, 6, 20), closes_on=date(2026, 7, 26),
            week=week, reason="" if week else "No week has room.",
        )  # fmt: skip
    return made


def client_of(user: User | None) -> Client:
    """A browser of a user; None is nobody."""
    client = Client()
    if user is not None:
        client.force_login(user)
    return client


def words_of(response: Any) -> str:
    """What the page says: tags out, entities back, white space single."""
    text = re.sub(r"<(style|script)\b.*?</\1>", " ", response.content.decode(), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())
