from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.members import DEFAULT_ERROR, ErrorModel, correlated, members_of

LEAD = np.arange(0.0, 240.0)


def test_one_member_is_the_forecast_itself() -> None:
    forecast = np.array([5.0, np.nan, 7.0])
    one = members_of(forecast, LEAD[:3], count=1, seed=1)
    assert one.shape == (1, 3)
    np.testing.assert_array_equal(one[0], forecast.astype(np.float32))


def test_the_same_seed_gives_the_same_members_and_another_one_others() -> None:
    forecast = np.full(50, 9.0)
    first, again, other = (members_of(forecast, LEAD[:50], count=7, seed=seed) for seed in (3, 3, 4))
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)
    assert first.dtype == np.float32


def test_the_spread_grows_with_lead_time_as_stated() -> None:
    drawn = members_of(np.full(240, 20.0), LEAD, count=4000, seed=5, model=ErrorModel(relative=0.0))
    measured = drawn.std(axis=0)
    assert measured[[0, 24, 48, 120]] == pytest.approx(DEFAULT_ERROR.sigma_mps(LEAD)[[0, 24, 48, 120]], rel=0.05)
    assert DEFAULT_ERROR.sigma_mps(np.array([0.0, 24.0, 48.0, 120.0])) == pytest.approx([1.0, 1.89, 2.35, 3.05], abs=0.01)


def test_errors_are_correlated_in_time_at_any_step() -> None:
    for step_h in (0.5, 1.0):
        noise = correlated(4000, np.arange(0, 40) * step_h, 10.0, seed=2)
        lag = int(5.0 / step_h)
        measured = (noise[:, :-lag] * noise[:, lag:]).mean()
        assert measured == pytest.approx(np.exp(-0.5), abs=0.03)
        assert noise.std(axis=0) == pytest.approx(1.0, abs=0.05)


def test_a_long_stay_is_likelier_than_its_hours_multiplied() -> None:
    good = members_of(np.full(12, 11.0), LEAD[:12], count=2000, seed=8) <= 12.0
    assert good.all(axis=1).mean() > 3 * np.prod(good.mean(axis=0))


def test_mirrored_pairs_keep_the_mean_at_the_forecast() -> None:
    drawn = members_of(np.full(24, 15.0), LEAD[:24], count=20, seed=9)
    assert drawn.mean(axis=0) == pytest.approx(15.0, abs=1e-4)
    assert members_of(np.full(24, 15.0), LEAD[:24], count=7, seed=9).shape == (7, 24)


def test_bias_moves_the_mean() -> None:
    drawn = members_of(np.full(24, 15.0), LEAD[:24], count=20, seed=9, model=ErrorModel(bias_mps=0.9))
    assert drawn.mean(axis=0) == pytest.approx(15.9, abs=1e-4)


def test_no_wind_is_negative_and_missing_stays_missing() -> None:
    drawn = members_of(np.array([0.2, np.nan, 0.2]), LEAD[:3], count=50, seed=1)
    assert (drawn[:, [0, 2]] >= 0).all()
    assert np.isnan(drawn[:, 1]).all()


def test_turbines_of_a_site_share_the_errors() -> None:
    drawn = members_of(np.array([[15.0, 15.0], [16.0, 16.0]]), LEAD[:2], count=4, seed=1, model=ErrorModel(relative=0.0))
    assert drawn.shape == (2, 4, 2)
    assert drawn[1] - drawn[0] == pytest.approx(1.0, abs=1e-5)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="count"):
        members_of(np.ones(2), LEAD[:2], count=0, seed=1)
    with pytest.raises(ValueError, match="one lead time a step"):
        members_of(np.ones(2), LEAD[:3], count=2, seed=1)
    with pytest.raises(ValueError, match="must rise"):
        members_of(np.ones(2), np.array([1.0, 1.0]), count=2, seed=1)
    for wrong in ({"start_mps": -1.0}, {"memory_h": 0.0}, {"relative": 2.0}, {"growth_h": float("nan")}):
        with pytest.raises(ValueError, match="error model"):
            ErrorModel(**wrong)
