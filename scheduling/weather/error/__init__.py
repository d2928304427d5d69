"""How far forecasts are off: the model, its fit to a site's past forecasts, members drawn from it, ensembles set right by it."""

from __future__ import annotations

from scheduling.weather.error.ensemble import (
    DEFAULT_ENSEMBLE,
    EnsembleCourse,
    EnsembleFound,
    EnsembleModel,
    calibrated,
    ensemble_from_json,
    ensemble_to_json,
    fit_ensemble,
)
from scheduling.weather.error.fit import ENOUGH, AtLead, Course, ErrorFound, fit_error
from scheduling.weather.error.model import DEFAULT_ERROR, ErrorModel, LeadError, model_from_json, model_to_json
from scheduling.weather.error.sampling import Members, correlated, members_of
from scheduling.weather.error.verify import WindScore, wind_scores

__all__ = [
    "DEFAULT_ENSEMBLE",
    "DEFAULT_ERROR",
    "ENOUGH",
    "AtLead",
    "Course",
    "EnsembleCourse",
    "EnsembleFound",
    "EnsembleModel",
    "ErrorFound",
    "ErrorModel",
    "LeadError",
    "Members",
    "WindScore",
    "calibrated",
    "correlated",
    "ensemble_from_json",
    "ensemble_to_json",
    "fit_ensemble",
    "fit_error",
    "members_of",
    "model_from_json",
    "model_to_json",
    "wind_scores",
]
