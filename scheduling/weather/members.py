"""A forecast as members, so that everything downstream sees chances and not one line."""

from __future__ import annotations

from scheduling.weather.error import (
    DEFAULT_ENSEMBLE,
    DEFAULT_ERROR,
    EnsembleModel,
    ErrorModel,
    Members,
    calibrated,
    correlated,
    members_of,
)

__all__ = [
    "DEFAULT_ENSEMBLE",
    "DEFAULT_ERROR",
    "EnsembleModel",
    "ErrorModel",
    "Members",
    "calibrated",
    "correlated",
    "members_of",
]
