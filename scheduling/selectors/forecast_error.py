"""Which error model a site's forecasts are read with, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from planner.errors import PlannerError
from planner.models import Site
from scheduling.models import ErrorFit
from scheduling.weather.error import (
    DEFAULT_ENSEMBLE,
    DEFAULT_ERROR,
    ENOUGH,
    EnsembleModel,
    ErrorModel,
    ensemble_from_json,
    model_from_json,
)

DEFAULT_TEXT = f"published default, for want of a fit to the site's own forecasts (it takes {ENOUGH} days of them)"


@dataclass(frozen=True)
class ErrorInUse:
    """`model` for single forecasts, `ensemble` for those that come as members; `fit` is None where both are the default."""

    model: ErrorModel
    ensemble: EnsembleModel
    fit: ErrorFit | None
    text: str


def error_model_of(site: Site, at: datetime) -> ErrorInUse:
    """The newest fit in use that was made by `at`; the published default where there is none.

    Raises PlannerError for a stored fit that cannot be read.
    """
    fit = ErrorFit.objects.filter(site=site, in_use=True, fitted_at__lte=at).order_by("-fitted_at", "-id").first()
    if fit is None:
        return ErrorInUse(DEFAULT_ERROR, DEFAULT_ENSEMBLE, None, DEFAULT_TEXT)
    single, ensemble = fit.model.get("single"), fit.model.get("ensemble")
    try:
        return ErrorInUse(
            model_from_json(single) if single else DEFAULT_ERROR,
            ensemble_from_json(ensemble) if ensemble else DEFAULT_ENSEMBLE,
            fit,
            fit_text(fit),
        )
    except ValueError as error:
        raise PlannerError(f"The error fit of {site} of {fit.fitted_at:%Y-%m-%d} cannot be read: {error}.") from error


def fit_text(fit: ErrorFit) -> str:
    """What a fit rests on, in a line, and which kind of forecast has to do with the default."""
    first, last = (moment.astimezone(UTC) for moment in (fit.first_issue, fit.last_issue))
    text = f"fitted to {fit.forecasts:,} forecasts of {first:%Y-%m-%d} to {last:%Y-%m-%d} and {fit.pairs:,} measured values"
    for name, told in (("single", "single forecasts"), ("ensemble", "ensembles")):
        if not fit.model.get(name):
            text += f"; for {told} the published default"
    return text
