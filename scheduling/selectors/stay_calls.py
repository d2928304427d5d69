"""Stays that people were told, what they were called, and how often the calls were right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import floor, isfinite

import numpy as np
from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from planner.models import Site
from scheduling.builders.limits import OF_PROCEDURE
from scheduling.builders.shifts import JOINS
from scheduling.choices import PlanState, SeriesKind
from scheduling.models import Plan, StayCall, Visit, VisitJob, WeatherSet
from scheduling.weather import scores
from scheduling.weather.scores import Bin, Brier, Calls

LOOKED_BACK = timedelta(days=365)
"""Calls of stays older than this say little about today's forecasts."""
LEAST_CALLS = 20
"""Fewer calls give no share in percent: with 20 a share is known to about 20 points. Common practice, no source."""
BINS = (0.0, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Chances of published stays are high, so the bins are finer there."""
BANDS = (0.0, 0.5, 0.7, 0.9, 1.0)
"""The bins of the sentences."""
MOST_LEAD_DAY = 16


@dataclass(frozen=True)
class Called:
    """A scored call, without its row. Lead day 1 is the last 24 hours before the start of the stay."""

    stay: tuple[int, datetime, datetime]
    lead_day: int
    chance: float
    go: bool
    fitted: bool


@dataclass(frozen=True)
class Score:
    """How good the calls of one lead day were (None: of all). Scores are NaN with fewer than LEAST_CALLS calls, never a guess.

    climate     share of the site's scored stays that could be done: the chance of somebody who knows the site and no forecast
    skill       1 is perfect, 0 no better than that somebody; NaN also where all of them went the same way
    """

    lead_day: int | None
    stays: int
    brier: Brier
    skill: float
    climate: float
    calls: Calls

    @property
    def enough(self) -> bool:
        """Whether anything may be said in percent."""
        return self.calls.n >= LEAST_CALLS


@dataclass(frozen=True)
class Skill:
    """The scores of a site's calls, by bin, by band and by lead day."""

    since: datetime
    score: Score
    bins: tuple[Bin, ...]
    bands: tuple[Bin, ...]
    by_lead: tuple[Score, ...]


def stays_told(*, site: Site, after: datetime, plan: Plan | None = None) -> QuerySet[Visit]:
    """The visits people go by that start after a moment, with all that a chance asks of them; a constant number of queries.

    A plan that a newer one superseded still holds on the days before the newer one begins.
    """
    told = Visit.objects.filter(turbine__site=site, starts_at__gt=after, plan__published_at__isnull=False)
    told = told.exclude(plan__state=PlanState.DRAFT).filter(~_replaced(""))
    if plan is not None:
        told = told.filter(plan=plan)
    jobs = Prefetch("jobs", VisitJob.objects.select_related("order__procedure__limit_set"))
    joined = told.select_related("turbine__site", "turbine__type").defer("plan__left_out")
    limits = [f"jobs__order__procedure__{name}" for name in OF_PROCEDURE]
    people = [f"people__{name}" for name in ("shift_pattern", *JOINS)]
    return joined.prefetch_related(jobs, *limits, *people).order_by("starts_at", "turbine__code", "pk")


def _replaced(visit: str) -> Exists:
    """Whether a newer plan took the place of the visit's; `visit` is the path to it, "" or ending in two underscores."""
    newer = Plan.objects.filter(
        base_id=OuterRef(f"{visit}plan__base_id"), published_at__gt=OuterRef(f"{visit}plan__published_at"),
        first_day__lte=OuterRef(f"{visit}day"), last_day__gte=OuterRef(f"{visit}plan__first_day"),
    )  # fmt: skip
    return Exists(newer)


def calls_from(*, visits: Iterable[Visit], issues: Sequence[datetime]) -> dict[tuple[int, datetime], StayCall]:
    """(visit id, issue time) -> the call."""
    found = StayCall.objects.filter(visit__in=list(visits), issued_at__in=issues)
    return {(call.visit_id, call.issued_at): call for call in found}


def forecasts_latest(*, site: Site, at: datetime, count: int = 2) -> list[WeatherSet]:
    """The forecasts of the site issued last, not after `at`, newest first; of one issue the one that came last. Without data."""
    rows = WeatherSet.objects.filter(site=site, kind=SeriesKind.FORECAST, issued_at__lte=at).defer("data")
    latest: dict[datetime | None, WeatherSet] = {}
    for row in rows.order_by("-issued_at", "-pk")[: 10 * count]:
        latest.setdefault(row.issued_at, row)
    return list(latest.values())[:count]


def lead_day_of(lead_h: float) -> int:
    """1 for the last 24 hours before the stay, 2 for the 24 before those, and so on."""
    return 1 + floor(lead_h / 24)


def calls_scored(*, site: Site, now: datetime) -> list[Called]:
    """Every call whose outcome is known, one for each stay and lead day: the one said last. One query."""
    rows = StayCall.objects.filter(site=site, fitted__isnull=False, starts_at__gte=now - LOOKED_BACK)
    columns = ("visit__turbine_id", "starts_at", "ends_at", "lead_h", "chance", "go", "fitted")
    found: dict[tuple[object, int], Called] = {}
    for turbine, starts_at, ends_at, lead_h, chance, go, fitted in rows.order_by("lead_h", "-pk").values_list(*columns):
        # A stay that a newer plan took over unchanged has a row in either plan; it is one stay all the same.
        stay, day = (turbine, starts_at, ends_at), lead_day_of(lead_h)
        found.setdefault((stay, day), Called(stay, day, chance, go, bool(fitted)))
    return list(found.values())


def skill_of(*, site: Site, now: datetime, lead_day: int | None = None) -> Skill:
    """The scores of all calls of a site, or of those of one lead day. One query."""
    called = calls_scored(site=site, now=now)
    climate = _climate(called)
    chosen = [one for one in called if lead_day in (None, one.lead_day)]
    chance, fitted = _arrays(chosen)
    days = sorted({one.lead_day for one in called})
    return Skill(
        since=now - LOOKED_BACK,
        score=_score(lead_day, chosen, climate),
        bins=scores.reliability_table(chance, fitted, BINS),
        bands=scores.reliability_table(chance, fitted, BANDS),
        by_lead=tuple(_score(day, [one for one in called if one.lead_day == day], climate) for day in days),
    )


def _climate(called: Sequence[Called]) -> float:
    """The share of stays that could be done, each counted once."""
    outcome = {one.stay: one.fitted for one in called}
    return sum(outcome.values()) / len(outcome) if outcome else float("nan")


def _score(lead_day: int | None, called: Sequence[Called], climate: float) -> Score:
    chance, fitted = _arrays(called)
    said = scores.calls(np.array([one.go for one in called], dtype=bool), fitted)
    stays = len({one.stay for one in called})
    if said.n < LEAST_CALLS:
        nan = float("nan")
        return Score(lead_day, stays, Brier(nan, nan, nan, nan, said.n, nan), nan, nan, said)
    skill = scores.brier_skill(chance, fitted, climate) if isfinite(climate) else float("nan")
    return Score(lead_day, stays, scores.brier(chance, fitted), skill, climate, said)


def _arrays(called: Sequence[Called]) -> tuple[np.ndarray, np.ndarray]:
    chance = np.array([one.chance for one in called], dtype=np.float64)
    return chance, np.array([one.fitted for one in called], dtype=bool)


def calls_ended(*, site: Site, now: datetime, most: int = 12) -> list[StayCall]:
    """The last call of each of the stays that ended last, newest first, whether its outcome is known or not. One query.

    Stays that a newer plan took back are not among them: nobody went.
    """
    rows = StayCall.objects.filter(site=site, ends_at__lte=now).select_related("visit__turbine__site")
    last = StayCall.objects.filter(visit=OuterRef("visit"), issued_at__gt=OuterRef("issued_at"))
    return list(rows.filter(~Exists(last), ~_replaced("visit__")).order_by("-starts_at", "visit__turbine__code", "-pk")[:most])


def calls_unscored(*, since: datetime, now: datetime) -> QuerySet[StayCall]:
    """Calls of stays that have ended and have no outcome yet."""
    return StayCall.objects.filter(fitted__isnull=True, ends_at__lte=now, ends_at__gt=since)
