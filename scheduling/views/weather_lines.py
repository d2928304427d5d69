"""The forecast of a day, ready to draw: how old it is, and the wind against the limit of the work planned into it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np

from planner.cautions import STALE
from planner.choices import Quantity
from planner.errors import PlannerError
from planner.models import Limit, Site
from planner.views.formats import clock, hours, moment
from scheduling.builders.horizon import SLOT_MIN, Span, local_utc
from scheduling.builders.site_weather import site_weather
from scheduling.drawings.wind import Slot, Stay, WindStrip, wind_strip
from scheduling.models import Visit, WeatherSet
from scheduling.selectors.weather import age_h, is_stale, newest_forecast

LOW, MIDDLE, HIGH = 10, 50, 90
"""Percentiles of the members that the strip shows."""


def forecast_line(site: Site, day: date, visits: Sequence[Visit], now: datetime) -> dict[str, Any]:
    """The newest forecast of a site: its age, and its strip unless it is stale, when nothing may be read from it."""
    forecast = newest_forecast(site=site, at=now)
    if forecast is None:
        return {"site": site.name, "missing": True, "stale": STALE, "strip": "", "said": ""}
    stale = is_stale(forecast, site, now)
    said = f"issued {moment(forecast.issued_at, site.zone)}, {hours(age_h(forecast, now))} old"
    line: dict[str, Any] = {"site": site.name, "missing": False, "stale": STALE if stale else "", "said": said, "strip": ""}
    if not stale:
        try:
            strip = strip_of(site, day, visits, forecast)
            line["strip"], line["said"] = wind_strip(strip), f"{said}; {strip.note}"
        except (PlannerError, ValueError) as error:
            line["said"] += f"; it cannot be drawn: {error}"
    return line


def strip_of(site: Site, day: date, visits: Sequence[Visit], forecast: WeatherSet, what: str = "Forecast") -> WindStrip:
    """One forecast's wind at a site from 05:00 to 21:00 of a day, with the stays of the visits. `what` begins its heading."""
    start, end = local_utc(day, time(5), site.zone), local_utc(day, time(21), site.zone)
    span = Span(start, int((end - start) / timedelta(minutes=SLOT_MIN)))
    hub_m = max((visit.turbine.hub_height_m for visit in visits), default=0.0) or _highest(site)
    weather = site_weather(site, forecast)
    cell = weather.cell_at(hub_m, span)
    return WindStrip(
        name=f"wind-{site.pk}-{forecast.pk}",
        heading=f"{what} wind at {site.name}, {hub_m:g} m, 10-min mean",
        slots=tuple(_slot(column) for column in cell.fields["wind"].values.T),
        limit_mps=_limit(visits),
        stays=tuple(_stay(visit, span, site) for visit in visits),
        ticks=tuple((n, f"{t.astimezone(site.zone):%H:%M}") for n, t in enumerate(span.times()) if n % 4 == 0),
        zone=f"{start.astimezone(site.zone):%Z}",
        note=f"{_carried(site, cell.shear)}; members by its error: {weather.error.text}",
    )


def _carried(site: Site, shear: str) -> str:
    """How the wind came to the hub, in words."""
    words = {
        "same height": "wind given at the hub",
        "two heights": "wind carried to the hub by the shear of each hour",
        "site": f"wind carried to the hub by the site's exponent {site.shear_exponent:g}",
    }
    return words.get(shear, "wind carried to the hub by the usual exponent 0.2")


def _highest(site: Site) -> float:
    return max(site.turbines.values_list("hub_height_m", flat=True), default=100.0)


def _slot(members: Any) -> Slot:
    """One unknown member makes the slot unknown: nothing is averaged over what is missing."""
    if not np.isfinite(members).all():
        return Slot(None, None, None)
    low, middle, high = np.percentile(members, (LOW, MIDDLE, HIGH))
    return Slot(float(low), float(middle), float(high))


def _limit(visits: Sequence[Visit]) -> float | None:
    """The lowest mean-wind limit at the hub of the work planned."""
    sets = {job.order.procedure.limit_set_id for visit in visits for job in visit.jobs.all()}
    limits = Limit.objects.filter(limit_set__in=sets, quantity=Quantity.WIND, at_hub=True, comparison__in=("<=", "<"))
    return min(limits.values_list("value", flat=True), default=None)


def _stay(visit: Visit, span: Span, site: Site) -> Stay:
    first, last = ((when - span.start) / timedelta(minutes=SLOT_MIN) for when in (visit.starts_at, visit.down_by))
    times = f"{clock(visit.starts_at, site.zone)}, down by {clock(visit.down_by, site.zone)}"
    return Stay(max(0, int(first)), min(span.slots, max(1, round(last))), f"{visit.turbine.code}: {times}")
