"""Calls are remembered: what chance each stay was given, and what became of it. The only writer of StayCall."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from functools import partial
from itertools import groupby

from django.db.models import QuerySet

from planner.clock import now_utc
from planner.models import LimitSet, Site
from scheduling.access import combine
from scheduling.builders.light import light_of
from scheduling.builders.limits import limit_set_of
from scheduling.builders.measured import Outcome, Source, Stay, outcome_of
from scheduling.builders.stays import StayChance, held_to, stay_chances
from scheduling.choices import SeriesKind
from scheduling.models import Plan, StayCall, WeatherSet
from scheduling.selectors.stay_calls import calls_unscored, stays_told
from scheduling.selectors.weather import is_stale, newest_forecast

log = logging.getLogger(__name__)
LOOKED_BACK = timedelta(days=30)
"""How far back the sweep looks for stays without an outcome; measurements that come later score them when they come."""
CHUNK = 200
CHANGED = "its limits were changed after the call"


def calls_record(*, forecast: WeatherSet, now: datetime | None = None, plan: Plan | None = None) -> list[StayCall]:
    """Keep the chance that a forecast gives to every stay people go by (or to those of one plan) that has not begun.

    One row for each stay and issue time; a second forecast of the same issue replaces what the first said. What was said from
    this one stands, also when the error model or the asked confidence has changed since. Nothing is kept from a forecast that
    is stale already, nor of a stay over which it is silent: unknown is not a chance of 0.
    """
    moment = now or now_utc()
    site, issued_at = forecast.site, forecast.issued_at
    if issued_at is None or issued_at > moment or is_stale(forecast, site, moment) or _replaced(forecast):
        return []
    fresh = stays_told(site=site, after=moment, plan=plan).exclude(stay_calls__forecast=forecast)
    told = stay_chances(site, forecast, fresh)
    rows = [_row(one, site, forecast, issued_at) for one in told if one.chance is not None]
    return StayCall.objects.bulk_create(
        rows,
        batch_size=CHUNK,
        update_conflicts=True,
        unique_fields=["visit", "issued_at"],
        update_fields=["forecast", "starts_at", "ends_at", "lead_h", "chance", "go", "limits", "about"],
    )


def calls_record_plan(*, plan_id: int, now: datetime | None = None) -> None:
    """Keep what the stays of a plan are called as it is published, from the newest forecast of each of its sites."""
    moment = now or now_utc()
    plan = Plan.objects.get(pk=plan_id)
    for site in Site.objects.filter(turbines__visits__plan=plan).distinct():
        forecast = newest_forecast(site=site, at=moment)
        if forecast is not None:
            calls_record(forecast=forecast, now=moment, plan=plan)


def calls_score(*, site: Site, first: datetime, last: datetime, now: datetime | None = None) -> int:
    """Hold the stays that touch [first, last) against what was measured; how many calls changed. A correction scores anew."""
    calls = StayCall.objects.filter(site=site, starts_at__lt=last, ends_at__gt=first)
    return _score(site, list(_joined(calls)), now or now_utc())


def weather_take(*, weather_set_id: int, now: datetime | None = None) -> None:
    """What follows from weather that arrived: a forecast makes calls, a measurement scores them. Safe to run twice."""
    row = WeatherSet.objects.select_related("site").filter(pk=weather_set_id).first()
    if row is None:
        return
    if row.kind == SeriesKind.FORECAST:
        calls_record(forecast=row, now=now)
    elif row.kind == SeriesKind.OBSERVED:
        calls_score(site=row.site, first=row.starts_at, last=row.ends_at, now=now)


def calls_catch_up(*, now: datetime | None = None) -> None:
    """What a lost message left undone: calls from each site's newest forecast, outcomes of the stays of the last weeks.

    A site whose weather cannot be worked out is logged and keeps nobody from theirs.
    """
    moment = now or now_utc()
    for site in Site.objects.filter(weather__kind=SeriesKind.FORECAST).distinct():
        forecast = newest_forecast(site=site, at=moment)
        if forecast is not None:
            _try(site, partial(calls_record, forecast=forecast, now=moment))
    waiting = _joined(calls_unscored(since=moment - LOOKED_BACK, now=moment))
    for _, calls in groupby(waiting, key=lambda call: call.site_id):
        own = list(calls)
        _try(own[0].site, partial(_score, own[0].site, own, moment))


def _try(site: Site, step: Callable[[], object]) -> None:
    try:
        step()
    except Exception:
        log.exception("calls of %s could not be kept or scored", site)


def _replaced(forecast: WeatherSet) -> bool:
    """Whether a later file of the same issue stands in its place."""
    same = WeatherSet.objects.filter(site=forecast.site_id, kind=SeriesKind.FORECAST, issued_at=forecast.issued_at)
    return same.filter(pk__gt=forecast.pk).exists()


def _row(told: StayChance, site: Site, forecast: WeatherSet, issued_at: datetime) -> StayCall:
    visit, chance = told.visit, told.chance or 0.0
    return StayCall(
        visit=visit,
        site=site,
        forecast=forecast,
        issued_at=issued_at,
        starts_at=visit.starts_at,
        ends_at=visit.ends_at,
        lead_h=(visit.starts_at - issued_at) / timedelta(hours=1),
        chance=chance,
        go=chance >= site.confidence - 1e-9,
        limits=list(told.codes),
        about={
            "first_start": told.first_start.isoformat() if told.first_start else None,
            "down_by": told.down_by.isoformat() if told.down_by else None,
            "binds": told.binds,
            "held_to": list(told.held_to),
        },
    )


def _joined(calls: QuerySet[StayCall]) -> QuerySet[StayCall]:
    return calls.select_related("site", "visit__turbine").order_by("site_id", "visit_id", "-issued_at")


def _score(site: Site, calls: Sequence[StayCall], now: datetime) -> int:
    """Write what is new; one outcome serves all calls of a stay."""
    if not calls:
        return 0
    sources = _sources(site, min(call.starts_at for call in calls), max(call.ends_at for call in calls))
    if not sources:
        return 0
    sets = {row.code: row for row in LimitSet.objects.prefetch_related("limits")}
    known: dict[tuple[object, ...], Outcome] = {}
    changed = []
    for call in calls:
        key = (call.visit_id, call.starts_at, call.ends_at, *call.limits, *call.about.get("held_to", ()))
        if key not in known:
            known[key] = _outcome(call, site, sets, sources)
        if _is_new(call, known[key], now):
            changed.append(call)
    StayCall.objects.bulk_update(changed, ["fitted", "scored_at", "about"], batch_size=CHUNK)
    return len(changed)


def _sources(site: Site, first: datetime, last: datetime) -> list[Source]:
    """The measurements that touch [first, last), newest first."""
    observed = WeatherSet.objects.filter(site=site, kind=SeriesKind.OBSERVED, starts_at__lt=last, ends_at__gt=first)
    return [Source(row, site.shear_exponent, first, last) for row in observed.order_by("-pk")]


def _outcome(call: StayCall, site: Site, sets: dict[str, LimitSet], sources: Sequence[Source]) -> Outcome:
    try:
        core = combine(limit_set_of(sets[code]) for code in call.limits)
    except (KeyError, ValueError):
        return Outcome(None, CHANGED)
    if list(held_to(core)) != call.about.get("held_to", list(held_to(core))):
        return Outcome(None, CHANGED)
    dark = False
    if core.daylight:
        rise, fall = light_of(site, call.starts_at.astimezone(site.zone).date())
        dark = not rise <= call.starts_at < call.ends_at <= fall
    stay = Stay(call.starts_at, call.ends_at, call.visit.turbine.hub_height_m, core, dark)
    here = [one for one in sources if one.start < call.ends_at and one.end > call.starts_at]
    return outcome_of(stay, here)


def _is_new(call: StayCall, outcome: Outcome, now: datetime) -> bool:
    """Put the outcome on the call; whether that says something else than before."""
    told = outcome.to_json()
    if call.fitted == outcome.fitted and call.about.get("measured") == told:
        return False
    call.fitted = outcome.fitted
    call.scored_at = None if outcome.fitted is None else now
    call.about = {**call.about, "measured": told}
    return True
