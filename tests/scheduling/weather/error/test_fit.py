from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.weather.error import DEFAULT_ERROR, ENOUGH, Course, fit_error, members_of, model_from_json, model_to_json
from scheduling.weather.error.fit import huber_line, robust_sigma
from tests.scheduling.weather.error.archives import LEADS_H, archive, sigma_at


def test_bias_spread_and_memory_are_found_again() -> None:
    found = fit_error(archive(600))
    model = found.model
    assert (found.forecasts, found.days, found.pairs) == (600, 600, 600 * 120)
    for lead in (6.0, 24.0, 48.0, 96.0):
        expected = model.expected_mps(np.full(120, 12.0), LEADS_H)[int(lead)]
        assert expected == pytest.approx(12.8, abs=0.25)
        wide = model.sigma_mps(np.array([lead]))[0] * model.scale(np.array([12.8]))[0]
        assert wide == pytest.approx(sigma_at(np.array([lead]))[0], rel=0.12)
    assert model.memory_h == pytest.approx(12.0, rel=0.25)
    assert model.quick < 0.2


def test_too_few_days_leave_the_default() -> None:
    few = fit_error(archive(ENOUGH - 1))
    assert few.model == DEFAULT_ERROR
    assert not few.by_lead
    assert fit_error([]).model == DEFAULT_ERROR
    assert fit_error([]).pairs == 0


def test_many_forecasts_of_few_days_are_few() -> None:
    courses = [replace(one, day=number // 10) for number, one in enumerate(archive(190))]
    found = fit_error(courses)
    assert (found.forecasts, found.days) == (190, 19)
    assert found.model == DEFAULT_ERROR


def test_the_more_days_the_less_of_the_default() -> None:
    biases = [fit_error(archive(count)).by_lead[0].bias_mps for count in (20, 80, 600)]
    assert biases[0] < biases[1] < biases[2]
    assert biases[0] == pytest.approx(0.4, abs=0.15)
    assert biases[2] == pytest.approx(0.78, abs=0.1)


def test_leads_never_forecast_grow_as_the_default_does() -> None:
    short = [Course(one.lead_h[:36], one.forecast_mps[:36], one.observed_mps[:36]) for one in archive(200)]
    model = fit_error(short).model
    at_36, at_120 = model.sigma_mps(np.array([36.0, 120.0]))
    usual_36, usual_120 = DEFAULT_ERROR.sigma_mps(np.array([36.0, 120.0]))
    assert at_120 / at_36 == pytest.approx(usual_120 / usual_36, rel=0.05)


def test_outliers_and_gaps_move_little() -> None:
    clean = fit_error(archive(300)).model
    rng = np.random.default_rng(5)
    dirty = []
    for one in archive(300):
        observed = one.observed_mps.copy()
        observed[rng.random(120) < 0.02] = 60.0
        observed[rng.random(120) < 0.3] = np.nan
        dirty.append(Course(one.lead_h, one.forecast_mps, observed))
    found = fit_error(dirty).model
    steps = np.array([6.0, 24.0, 96.0])
    assert found.sigma_mps(steps) == pytest.approx(clean.sigma_mps(steps), rel=0.12)
    wind = np.full(120, 12.0)
    assert found.expected_mps(wind, LEADS_H) == pytest.approx(clean.expected_mps(wind, LEADS_H), abs=0.25)
    assert found.memory_h == pytest.approx(clean.memory_h, rel=0.4)


def test_what_is_not_known_is_no_pair() -> None:
    course = archive(1)[0]
    observed = course.observed_mps.copy()
    observed[:50] = np.nan
    forecast = course.forecast_mps.copy()
    forecast[60:] = np.nan
    assert fit_error([Course(course.lead_h, forecast, observed)]).pairs == 10
    assert fit_error([Course(course.lead_h - 55.0, forecast, observed)]).pairs == 5


def test_forecasts_that_fade_are_drawn_to_the_usual_wind() -> None:
    rng = np.random.default_rng(3)
    courses = []
    for one in archive(400, bias_mps=0.0):
        fade = np.exp(-LEADS_H / 60.0)
        courses.append(Course(LEADS_H, one.forecast_mps, 12.0 + fade * (one.forecast_mps - 12.0) + rng.normal(0, 0.5, 120)))
    by_lead = fit_error(courses).model.by_lead
    assert by_lead[0].pull == pytest.approx(0.0, abs=0.1)
    assert by_lead[-1].pull < -0.6


def test_peaks_at_the_wrong_hour_are_flattened() -> None:
    hours = np.arange(200.0)
    rng = np.random.default_rng(4)
    courses = []
    for _ in range(200):
        phase, late = rng.uniform(0, 12), rng.normal(0, 2.0)
        wave = 10.0 + 2.0 * np.sin((hours + phase) / 10 * 2 * np.pi)
        observed = 10.0 + 2.0 * np.sin((hours + phase + late) / 10 * 2 * np.pi)
        courses.append(Course(LEADS_H, wave[:120], observed[:120]))
    model = fit_error(courses).model
    assert all(one.pull + one.ripple < -0.3 for one in model.by_lead)


def test_steps_of_six_hours_can_be_fitted_too() -> None:
    courses = [Course(one.lead_h[::6], one.forecast_mps[::6], one.observed_mps[::6]) for one in archive(300)]
    model = fit_error(courses).model
    assert model.memory_h == pytest.approx(12.0, rel=0.35)
    assert model.sigma_mps(np.array([96.0]))[0] > 1.5


def test_forecasts_that_are_always_right_still_leave_doubt() -> None:
    right = [Course(one.lead_h, one.forecast_mps, one.forecast_mps) for one in archive(60)]
    model = fit_error(right).model
    drawn = members_of(right[0].forecast_mps, LEADS_H, count=20, seed=1, model=model)
    assert np.isfinite(drawn).all()
    assert 0 < model.sigma_mps(np.array([24.0]))[0] < DEFAULT_ERROR.sigma_mps(np.array([24.0]))[0]


def test_members_of_a_fitted_model_spread_as_the_errors_did() -> None:
    courses = archive(500)
    model = fit_error(courses).model
    drawn = members_of(courses[0].forecast_mps, LEADS_H, count=2000, seed=2, model=model)
    assert drawn.mean(axis=0) == pytest.approx(courses[0].forecast_mps + 0.8, abs=0.5)
    again = members_of(courses[0].forecast_mps, LEADS_H, count=2000, seed=2, model=model)
    np.testing.assert_array_equal(drawn, again)
    good = drawn[:, 24:30] <= 13.5
    assert good.all(axis=1).mean() > 2 * np.prod(good.mean(axis=0))


def test_a_model_goes_to_json_and_back() -> None:
    for model in (DEFAULT_ERROR, fit_error(archive(40)).model):
        assert model_from_json(model_to_json(model)) == model
    with pytest.raises(ValueError, match="fit the site's forecasts anew"):
        model_from_json({"start_mps": 1.0})
    with pytest.raises(ValueError, match="error model"):
        model_from_json({**model_to_json(DEFAULT_ERROR), "shape": [0.0, 1.0]})


def test_errors_without_kinks_are_known_as_smooth() -> None:
    found = fit_error(archive(300, smooth=True)).model
    assert found.smooth
    assert found.memory_h == pytest.approx(12.0, rel=0.35)
    assert not fit_error(archive(300)).model.smooth
    assert model_from_json(model_to_json(found)) == found


def test_courses_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="one lead, forecast and measured"):
        Course(LEADS_H, LEADS_H[:5], LEADS_H)


# Huber (1964), from memory; the numbers are made here
def test_a_line_is_found_among_outliers() -> None:
    rng = np.random.default_rng(6)
    x = np.column_stack([np.ones(500), rng.normal(size=500)])
    y = x @ np.array([1.0, -0.5]) + rng.normal(0, 0.2, 500)
    y[:25] += 30.0
    assert huber_line(x, y) == pytest.approx([1.0, -0.5], abs=0.06)
    assert robust_sigma(rng.normal(0, 2.0, 20_000)) == pytest.approx(2.0, rel=0.02)


@given(st.lists(st.floats(0.0, 40.0), min_size=24, max_size=24), st.integers(2, 9), st.integers(0, 3))
def test_members_are_finite_never_negative_and_repeatable(winds: list[float], count: int, seed: int) -> None:
    model = FITTED
    drawn = members_of(np.array(winds), LEADS_H[:24], count=count, seed=seed, model=model)
    assert drawn.shape == (count, 24)
    assert np.isfinite(drawn).all()
    assert (drawn >= 0).all()


FITTED = fit_error(archive(60)).model
