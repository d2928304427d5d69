from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.error import ErrorModel, correlated, members_of
from scheduling.weather.error.sampling import smoothed

HOURS = np.arange(40.0)


# The correlation of two first-order memories one behind the other, (1 + x) exp(-x): a Matern covariance of 3/2, from memory
@pytest.mark.parametrize("step_h", [0.5, 1.0])
def test_smooth_errors_fall_to_a_third_after_their_memory(step_h: float) -> None:
    noise = smoothed(6000, np.arange(0, 40, step_h), 12.0, seed=2).astype(float)
    assert noise.std(axis=0) == pytest.approx(1.0, abs=0.05)
    for hours, told in ((1, 0.986), (6, 0.709), (12, 0.368), (24, 0.072)):
        lag = int(hours / step_h)
        assert (noise[:, :-lag] * noise[:, lag:]).mean() == pytest.approx(told, abs=0.04)


def test_smooth_errors_have_no_kinks() -> None:
    turning = [np.diff(draw(500, HOURS, 12.0, 1), 2).std() for draw in (smoothed, correlated)]
    assert turning[0] < 0.3 * turning[1]


def test_uneven_leads_are_read_off_a_finer_grid() -> None:
    leads = np.array([0.0, 1.0, 2.0, 3.0, 6.0, 12.0, 18.0])
    np.testing.assert_array_equal(smoothed(9, leads, 12.0, 3), smoothed(9, np.arange(19.0), 12.0, 3)[:, leads.astype(int)])
    assert correlated(6000, leads, 12.0, 3)[:, [2, 5]].std() == pytest.approx(1.0, abs=0.05)
    with pytest.raises(ValueError, match="must rise"):
        smoothed(3, leads[::-1], 12.0, 1)


def test_even_steps_remember_as_uneven_ones_do() -> None:
    """The quick way for even steps gives what step by step gives."""
    keep, fresh = np.exp(-1 / 10.0), np.sqrt(1 - np.exp(-2 / 10.0))
    drawn = np.random.default_rng(4).standard_normal((40, 5))
    for step in range(1, 40):
        drawn[step] = keep * drawn[step - 1] + fresh * drawn[step]
    np.testing.assert_allclose(correlated(10, HOURS, 10.0, 4)[:5], drawn.T, atol=1e-5)


def test_smooth_members_stay_below_a_limit_longer() -> None:
    calm = np.full(12, 11.0)
    shares = [
        (members_of(calm, HOURS[:12], count=2000, seed=5, model=ErrorModel(smooth=smooth)) <= 12.0).all(axis=1).mean()
        for smooth in (False, True)
    ]
    assert shares[1] > shares[0] + 0.02
