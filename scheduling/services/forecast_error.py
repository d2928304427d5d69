"""Learning how far off a site's forecasts are. The only writer of ErrorFit."""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.db import transaction

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Site
from scheduling.models import ErrorFit
from scheduling.selectors.past_forecasts import past_courses, site_hub_m
from scheduling.weather.error import (
    ENOUGH,
    AtLead,
    Course,
    EnsembleCourse,
    EnsembleFound,
    ErrorFound,
    ensemble_to_json,
    fit_ensemble,
    fit_error,
    model_to_json,
    wind_scores,
)

MOST_SCORED = 400
"""Forecasts that are scored: a year of one a day, and some."""


def error_fit(*, site: Site, until: datetime | None = None) -> ErrorFit:
    """Fit the site's stored forecasts to what was measured, and use the fit from now on.

    Single forecasts and ensembles are fitted apart; a kind with too few days of forecasts keeps the published default. Raises
    PlannerError, and stores nothing, where that is so for both.
    """
    now = now_utc()
    issued, past, singles, ensembles = [], [], [], []
    for moment, course in past_courses(site=site, until=until or now):
        issued.append(moment)
        past.append(course)
        if len(course.members_mps) == 1:
            singles.append(Course(course.lead_h, course.members_mps[0], course.observed_mps, course.day))
        else:
            ensembles.append(course)
    single, ensemble = fit_error(singles), fit_ensemble(ensembles)
    _enough(site, single, ensemble)
    return ErrorFit.objects.create(
        site=site,
        fitted_at=now,
        first_issue=min(issued),
        last_issue=max(issued),
        forecasts=single.forecasts + ensemble.forecasts,
        pairs=single.pairs + ensemble.pairs,
        model=_as_json(site, single, ensemble) | {"wind_scores": _scores(past, single, ensemble)},
    )


def error_fit_use(*, fit: ErrorFit, in_use: bool) -> ErrorFit:
    """Take a fit into use or out of it. The newest one in use counts; without any the published default."""
    with transaction.atomic():
        ErrorFit.objects.filter(pk=fit.pk).update(in_use=in_use)
    fit.in_use = in_use
    return fit


def _enough(site: Site, single: ErrorFound, ensemble: EnsembleFound) -> None:
    if single.by_lead or ensemble.by_lead:
        return
    days = max(single.days, ensemble.days)
    raise PlannerError(
        f"{site} has forecasts of {days} days that can be held against measured wind, and {ENOUGH} are needed: import past "
        "forecasts and the measurements of the same hours. Until then the published default stands.",
        field="site",
    )


def _as_json(site: Site, single: ErrorFound, ensemble: EnsembleFound) -> dict[str, Any]:
    """Both models, and by lead what they were made from."""
    return {
        "hub_m": site_hub_m(site),
        "single": model_to_json(single.model) if single.by_lead else None,
        "single_by_lead": _rows(single.by_lead),
        "ensemble": ensemble_to_json(ensemble.model) if ensemble.by_lead else None,
        "ensemble_by_lead": _rows(ensemble.by_lead),
        "ensemble_outside": None if math.isnan(ensemble.outside) else round(ensemble.outside, 3),
    }


def _scores(past: list[EnsembleCourse], single: ErrorFound, ensemble: EnsembleFound) -> list[dict[str, Any]]:
    """How far off the newest of the forecasts were, by lead day."""
    return [asdict(one) for one in wind_scores(past[-MOST_SCORED:], single.model, ensemble.model)]


def _rows(by_lead: tuple[AtLead, ...]) -> list[dict[str, Any]]:
    return [{name: round(value, 3) for name, value in asdict(one).items()} for one in by_lead]
