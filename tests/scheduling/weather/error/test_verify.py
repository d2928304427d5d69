"""Scores of the wind by lead day."""

from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.error import Course, EnsembleCourse, fit_error, wind_scores
from scheduling.weather.error.ensemble import DEFAULT_ENSEMBLE
from scheduling.weather.error.model import DEFAULT_ERROR

LEAD_H = np.arange(48.0)


def courses(count: int = 60) -> list[EnsembleCourse]:
    """Forecasts 2 m/s too low on the first day and with errors of 3 m/s on the second."""
    rng = np.random.default_rng(5)
    made = []
    for day in range(count):
        truth = np.clip(9.0 + np.cumsum(rng.normal(0, 0.5, 48)), 3.0, 20.0)
        told = np.where(LEAD_H < 24, truth - 2.0, truth + 3.0 * rng.choice([-1.0, 1.0]))
        made.append(EnsembleCourse(LEAD_H, told[None, :], truth, day))
    return made


def test_a_single_line_scores_its_mean_error() -> None:
    first, second = wind_scores(courses(), DEFAULT_ERROR, DEFAULT_ENSEMBLE)
    assert (first.lead_day, first.hours, second.lead_day) == (1, 60 * 24, 2)
    assert first.forecast_mps == pytest.approx(2.0, abs=0.01)
    assert second.forecast_mps == pytest.approx(3.0, abs=0.01)


def test_members_of_a_fitted_model_are_nearer_than_the_line() -> None:
    past = courses()
    model = fit_error([Course(one.lead_h, one.members_mps[0], one.observed_mps, one.day) for one in past]).model
    for score in wind_scores(past, model, DEFAULT_ENSEMBLE):
        assert score.members_mps < 0.85 * score.forecast_mps


def test_unknown_hours_are_not_compared() -> None:
    (one, *_) = courses(1)
    seen = one.observed_mps.copy()
    seen[:30] = np.nan
    (score,) = wind_scores([EnsembleCourse(LEAD_H, one.members_mps, seen, 0)], DEFAULT_ERROR, DEFAULT_ENSEMBLE)
    assert (score.lead_day, score.hours) == (2, 18)
    assert wind_scores([], DEFAULT_ERROR, DEFAULT_ENSEMBLE) == ()


def test_an_ensemble_is_scored_as_it_came_and_set_right() -> None:
    rng = np.random.default_rng(6)
    narrow = [
        EnsembleCourse(LEAD_H, 9.0 + rng.normal(0, 0.1, (8, 48)), 9.0 + np.full(48, rng.normal(0, 2.0)), day) for day in range(30)
    ]
    for score in wind_scores(narrow, DEFAULT_ERROR, DEFAULT_ENSEMBLE):
        assert score.members_mps < score.forecast_mps
