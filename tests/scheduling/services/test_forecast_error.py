from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.models import Turbine
from scheduling.models import ErrorFit, WeatherSet
from scheduling.selectors.forecast_error import DEFAULT_TEXT, error_model_of
from scheduling.selectors.past_forecasts import past_courses, site_hub_m
from scheduling.services.forecast_error import error_fit, error_fit_use
from scheduling.weather.error import DEFAULT_ENSEMBLE, DEFAULT_ERROR, ENOUGH, EnsembleCourse
from tests.farm import NOW, Farm
from tests.scheduling.services.past_scenes import BIAS_MPS, FIRST, HOURS, forecasts, measured


def courses(farm: Farm) -> list[EnsembleCourse]:
    return [course for _, course in past_courses(site=farm.hill, until=NOW)]


def test_a_site_learns_its_bias(farm: Farm) -> None:
    measured(farm.hill)
    forecasts(farm.hill, 45)
    fit = error_fit(site=farm.hill)
    assert (fit.forecasts, fit.pairs, fit.in_use) == (45, 45 * HOURS, True)
    assert (fit.first_issue, fit.last_issue) == (FIRST, FIRST + timedelta(days=44))
    used = error_model_of(farm.hill, NOW)
    assert used.fit == fit
    assert used.ensemble == DEFAULT_ENSEMBLE
    expected = used.model.expected_mps(np.full(HOURS, 10.0), np.arange(float(HOURS)))
    assert expected.mean() - 10.0 == pytest.approx(BIAS_MPS * 45 / 65, abs=0.3)
    assert "45 forecasts of 2026-04-11 to 2026-05-25" in used.text
    assert "for ensembles the published default" in used.text
    assert fit.model["hub_m"] == 100.0
    scores = fit.model["wind_scores"]
    assert [one["lead_day"] for one in scores] == list(range(1, HOURS // 24 + 1))
    assert sum(one["hours"] for one in scores) == fit.pairs
    assert all(one["members_mps"] < one["forecast_mps"] for one in scores)


def test_ensembles_are_fitted_apart(farm: Farm) -> None:
    measured(farm.hill)
    forecasts(farm.hill, 30, members=5)
    used = error_model_of(farm.hill, error_fit(site=farm.hill).fitted_at)
    assert used.model == DEFAULT_ERROR
    assert used.ensemble != DEFAULT_ENSEMBLE
    assert "for single forecasts the published default" in used.text
    assert used.fit is not None
    assert used.fit.model["ensemble_outside"] > 0.5


def test_too_few_days_store_nothing_and_say_so(farm: Farm) -> None:
    measured(farm.hill)
    forecasts(farm.hill, ENOUGH - 1)
    with pytest.raises(PlannerError, match=r"19 days .* 20 are needed"):
        error_fit(site=farm.hill)
    assert not ErrorFit.objects.exists()
    used = error_model_of(farm.hill, NOW)
    assert (used.model, used.ensemble, used.fit, used.text) == (DEFAULT_ERROR, DEFAULT_ENSEMBLE, None, DEFAULT_TEXT)


def test_without_turbines_there_is_no_hub(farm: Farm) -> None:
    assert site_hub_m(farm.hill) == 100.0
    Turbine.objects.filter(site=farm.plain).delete()
    with pytest.raises(PlannerError, match="has no turbine"):
        error_fit(site=farm.plain)


def test_flagged_values_are_no_pairs(farm: Farm) -> None:
    measured(farm.hill, flagged=slice(0, 6 * 24 * 3))
    forecasts(farm.hill, 10)
    seen = courses(farm)
    # the first two days are flagged whole, and so a forecast of them is held against nothing
    assert len(seen) == 8
    assert np.isnan(seen[0].observed_mps[:24]).all()
    assert (seen[0].observed_mps[24:] > 0.4).all()


def test_half_an_hour_missing_is_a_missing_hour(farm: Farm) -> None:
    measured(farm.hill, flagged=slice(3, 5))
    forecasts(farm.hill, 1)
    assert np.flatnonzero(np.isnan(courses(farm)[0].observed_mps)).tolist() == [0]


def test_pieces_of_measurement_are_put_together(farm: Farm) -> None:
    measured(farm.hill, days=1)
    forecasts(farm.hill, 1)
    assert np.isfinite(courses(farm)[0].observed_mps).sum() == 24
    measured(farm.hill, days=2, step_min=30)
    assert np.isfinite(courses(farm)[0].observed_mps).sum() == 48


def test_coarse_forecasts_and_those_of_unmeasured_days_are_left_out(farm: Farm) -> None:
    measured(farm.hill, days=5)
    forecasts(farm.hill, 8)
    assert len(courses(farm)) == 5
    WeatherSet.objects.filter(kind="forecast", issued_at__lt=FIRST + timedelta(days=2)).update(step_min=180)
    assert len(courses(farm)) == 3
    assert len([1 for _ in past_courses(site=farm.hill, until=FIRST + timedelta(days=3))]) == 2


def test_the_newest_in_use_counts(farm: Farm) -> None:
    measured(farm.hill)
    forecasts(farm.hill, 25)
    old = error_fit(site=farm.hill)
    ErrorFit.objects.filter(pk=old.pk).update(fitted_at=NOW - timedelta(days=9))
    new = error_fit(site=farm.hill, until=FIRST + timedelta(days=22))
    assert new.forecasts == 23
    assert error_model_of(farm.hill, NOW).fit == new
    assert error_model_of(farm.hill, NOW - timedelta(days=1)).fit == old
    error_fit_use(fit=new, in_use=False)
    assert error_model_of(farm.hill, NOW).fit == old
    error_fit_use(fit=old, in_use=False)
    assert error_model_of(farm.hill, NOW).fit is None


def test_a_fit_that_cannot_be_read_is_no_default(farm: Farm) -> None:
    ErrorFit.objects.create(
        site=farm.hill, fitted_at=NOW, first_issue=NOW, last_issue=NOW, forecasts=1, pairs=1, model={"single": {"start_mps": 1}}
    )
    with pytest.raises(PlannerError, match="fit the site's forecasts anew"):
        error_model_of(farm.hill, NOW)
