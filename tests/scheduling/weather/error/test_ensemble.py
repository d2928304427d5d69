from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.error import (
    DEFAULT_ENSEMBLE,
    EnsembleCourse,
    EnsembleModel,
    calibrated,
    ensemble_from_json,
    ensemble_to_json,
    fit_ensemble,
)
from scheduling.weather.scores import crps
from tests.scheduling.weather.error.archives import LEADS_H, ensembles

FITTED = fit_ensemble(ensembles(200)).model


def outside(members: np.ndarray, observed: np.ndarray) -> float:
    return float(((observed < members.min(axis=-2)) | (observed > members.max(axis=-2))).mean())


def test_narrow_ensembles_are_drawn_apart_until_they_hold_as_much_as_they_should() -> None:
    fresh = ensembles(150, seed=9)
    raw = np.array([one.members_mps for one in fresh])
    observed = np.array([one.observed_mps for one in fresh])
    right = np.array([calibrated(one.members_mps, LEADS_H, seed=at, model=FITTED) for at, one in enumerate(fresh)])
    reliable = 2 / 9  # of 8 members and one measured value, drawn alike, the last is an extreme in 2 of 9 cases
    assert outside(raw, observed) > 0.45
    assert outside(right, observed) == pytest.approx(reliable, abs=0.05)
    scores = [crps(np.moveaxis(one, 1, 2).reshape(-1, 8), observed.ravel(), fair=True) for one in (raw, right)]
    assert scores[1] < scores[0] - 0.05


def test_the_fit_says_how_often_the_raw_range_missed() -> None:
    found = fit_ensemble(ensembles(60))
    assert found.outside == pytest.approx(0.53, abs=0.06)
    assert (found.forecasts, found.days, found.pairs) == (60, 60, 60 * 120)
    assert np.isnan(fit_ensemble([]).outside)


def test_too_few_days_leave_the_default_which_is_wider_than_the_raw() -> None:
    assert fit_ensemble(ensembles(19)).model == DEFAULT_ENSEMBLE
    raw = ensembles(1)[0].members_mps
    drawn = calibrated(raw, LEADS_H, seed=1)
    assert drawn.std(axis=0).mean() > 1.5 * raw.std(axis=0).mean()
    assert drawn.dtype == np.float32


# 43 of 66 outside 8 members: with an unbiased mean the spread would have to be 3.1 times as large (computed here by drawing)
def test_the_factor_behind_a_published_set() -> None:
    rng = np.random.default_rng(7)
    members, observed = np.sort(rng.standard_normal((100_000, 8)), axis=1), rng.standard_normal(100_000)

    def share(factor: float) -> float:
        return float(((factor * observed < members[:, 0]) | (factor * observed > members[:, -1])).mean())

    assert share(1.0) == pytest.approx(2 / 9, abs=0.01)
    assert share(3.1) == pytest.approx(43 / 66, abs=0.01)


def test_members_keep_their_own_course() -> None:
    calm = np.full(24, 5.0)
    front = np.where(np.arange(24) >= 12, 14.0, 5.0)
    raw = np.array([calm, calm, calm, front])
    drawn = calibrated(raw, LEADS_H[:24], seed=1, model=EnsembleModel(1.5, 0.0))
    assert (drawn[3, 12:] > 15.0).all()
    assert (drawn[:3, 12:] < 5.0).all()
    assert drawn[:, :12] == pytest.approx(5.0)
    assert drawn.mean(axis=0) == pytest.approx(raw.mean(axis=0), abs=1e-5)


def test_more_members_than_came_are_dressed_with_other_noise() -> None:
    raw = ensembles(1)[0].members_mps
    drawn = calibrated(raw, LEADS_H, seed=3, count=50, model=FITTED)
    assert drawn.shape == (50, 120)
    assert len(np.unique(drawn[:, 40])) == 50
    np.testing.assert_array_equal(drawn, calibrated(raw, LEADS_H, seed=3, count=50, model=FITTED))
    # the n-th raw member serves again as n + 8, n + 16, ...: closer to itself than to the others
    own = np.abs(drawn[0] - drawn[8]).mean()
    assert own < np.abs(drawn[0] - drawn[1]).mean()


def test_turbines_come_in_front_and_missing_stays_missing() -> None:
    raw = np.stack([ensembles(1)[0].members_mps] * 3)
    raw[1, 2, 5] = np.nan
    drawn = calibrated(raw, LEADS_H, seed=1)
    assert drawn.shape == raw.shape
    assert np.isnan(drawn[1, :, 5]).all()
    assert np.isfinite(np.delete(drawn, 5, axis=-1)).all()
    assert (drawn[np.isfinite(drawn)] >= 0).all()


def test_a_model_goes_to_json_and_back() -> None:
    for model in (DEFAULT_ENSEMBLE, FITTED):
        assert ensemble_from_json(ensemble_to_json(model)) == model
    with pytest.raises(ValueError, match="fit the site's forecasts anew"):
        ensemble_from_json({})


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="members"):
        calibrated(np.ones((3, 4)), LEADS_H, seed=1)
    with pytest.raises(ValueError, match="count"):
        calibrated(np.ones((3, 120)), LEADS_H, seed=1, count=0)
    with pytest.raises(ValueError, match="ensemble model"):
        EnsembleModel(factor=0.0)
    with pytest.raises(ValueError, match="ensemble course"):
        EnsembleCourse(LEADS_H, np.ones((3, 4)), LEADS_H)
