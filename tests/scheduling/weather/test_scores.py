from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st
from scores.categorical import BinaryContingencyManager
from scores.probability import brier_score, crps_for_ensemble

from scheduling.weather.scores import TENTHS, Calls, brier, brier_skill, calls, crps, reliability_table

CASES = st.lists(st.tuples(st.integers(0, 20), st.booleans()), min_size=1, max_size=60)


def honest(n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Chances of 20 members, and outcomes that come true as often as said."""
    rng = np.random.default_rng(seed)
    chance = rng.integers(0, 21, n) / 20
    return chance, rng.random(n) < chance


# PyPI `scores` 2.7.0, general-purpose verification library (Bureau of Meteorology)
def test_brier_as_the_library_has_it() -> None:
    chance, fitted = honest(500, 1)
    theirs = float(brier_score(xr.DataArray(chance, dims="n"), xr.DataArray(fitted.astype(float), dims="n")))
    assert brier(chance, fitted).score == pytest.approx(theirs, abs=1e-12)


# PyPI `scores` 2.7.0: methods "ecdf" (plain) and "fair"
@pytest.mark.parametrize(("fair", "method"), [(False, "ecdf"), (True, "fair")])
def test_crps_as_the_library_has_it(fair: bool, method: str) -> None:
    rng = np.random.default_rng(2)
    members, observed = rng.gamma(4.0, 2.0, (200, 20)), rng.gamma(4.0, 2.0, 200)
    theirs = crps_for_ensemble(xr.DataArray(members, dims=("n", "m")), xr.DataArray(observed, dims="n"), "m", method=method)
    assert crps(members, observed, fair=fair) == pytest.approx(float(theirs), abs=1e-12)


# PyPI `scores` 2.7.0
def test_calls_as_the_library_has_them() -> None:
    rng = np.random.default_rng(3)
    go, fitted = rng.random(300) < 0.6, rng.random(300) < 0.7
    table = BinaryContingencyManager(xr.DataArray(go.astype(float), dims="n"), xr.DataArray(fitted.astype(float), dims="n"))
    counts = {name: int(value) for name, value in table.get_counts().items()}
    ours = calls(go, fitted)
    assert (ours.hits, ours.false_go, ours.missed, ours.right_no, ours.n) == tuple(
        counts[name] for name in ("tp_count", "fp_count", "fn_count", "tn_count", "total_count")
    )


# scipy 1.17: the score interval of Wilson (1927)
def test_the_interval_of_a_bin_is_wilsons() -> None:
    chance, fitted = np.full(40, 0.85), np.arange(40) < 33
    found = next(one for one in reliability_table(chance, fitted) if one.n)
    theirs = scipy.stats.binomtest(33, 40).proportion_ci(0.95, method="wilson")
    assert (found.low_bound, found.high_bound) == pytest.approx((theirs.low, theirs.high), abs=1e-6)
    assert (found.low, found.mean_chance, found.share_fitted) == pytest.approx((0.8, 0.85, 0.825))


# By hand
def test_small_values_by_hand() -> None:
    found = brier(np.array([0.9, 0.9, 0.2]), np.array([True, False, False]))
    assert found.score == pytest.approx((0.01 + 0.81 + 0.04) / 3)
    assert found.uncertainty == pytest.approx(2 / 9)
    assert found.reliability == pytest.approx((2 * 0.16 + 0.04) / 3)
    assert found.resolution == pytest.approx((2 * (1 / 6) ** 2 + (1 / 3) ** 2) / 3)
    assert crps(np.array([[1.0, 3.0]]), np.array([2.0])) == pytest.approx(1.0 - 0.5)
    assert crps(np.array([[4.0]]), np.array([2.5])) == pytest.approx(1.5)
    assert calls(np.array([True, True, False]), np.array([True, False, True])) == Calls(1, 1, 1, 0, 3)


@given(CASES)
def test_the_parts_add_up_to_the_score(cases: list[tuple[int, bool]]) -> None:
    chance, fitted = np.array([n / 20 for n, _ in cases]), np.array([fit for _, fit in cases])
    found = brier(chance, fitted)
    assert found.score == pytest.approx(found.reliability - found.resolution + found.uncertainty + found.within, abs=1e-12)
    fine = brier(chance, fitted, (*(n / 20 for n in range(20)), 0.99, 1.0))
    assert fine.within == pytest.approx(0.0, abs=1e-12)
    assert sum(one.n for one in reliability_table(chance, fitted)) == len(cases)


def test_honest_chances_have_almost_no_reliability_part() -> None:
    chance, fitted = honest(20_000, 4)
    assert brier(chance, fitted).reliability < 0.0005
    assert brier(np.clip(chance + 0.2, 0, 1), fitted).reliability > 0.02
    assert brier_skill(chance, fitted, float(fitted.mean())) > 0.3
    assert brier_skill(np.full(20_000, fitted.mean()), fitted, float(fitted.mean())) == pytest.approx(0.0)


def test_a_share_of_members_lies_in_its_own_bin() -> None:
    for kind in (np.float64, np.float32):
        shares = np.array([n / 20 for n in range(21)], dtype=kind)
        counts = [one.n for one in reliability_table(shares, np.ones(21, dtype=bool))]
        assert counts == [2] * 9 + [3]


def test_no_case_is_no_score() -> None:
    none, outcome = np.empty(0), np.empty(0, dtype=bool)
    assert brier(none, outcome).n == 0
    assert math.isnan(brier(none, outcome).score)
    assert math.isnan(brier_skill(none, outcome, 0.5))
    assert [one.n for one in reliability_table(none, outcome)] == [0] * (len(TENTHS) - 1)
    assert math.isnan(reliability_table(none, outcome)[0].share_fitted)
    assert math.isnan(crps(np.empty((0, 5)), none))
    assert calls(outcome, outcome) == Calls(0, 0, 0, 0, 0)
    assert math.isnan(brier_skill(np.ones(3), np.ones(3, dtype=bool), 1.0))


def test_what_does_not_fit_is_refused() -> None:
    yes = np.ones(2, dtype=bool)
    for wrong in (np.array([0.5, np.nan]), np.array([0.5, 1.2]), np.array([0.5])):
        with pytest.raises(ValueError, match="chance"):
            brier(wrong, yes)
    with pytest.raises(ValueError, match="climate_chance"):
        brier_skill(np.ones(2), yes, math.nan)
    with pytest.raises(ValueError, match="true or false"):
        calls(np.array([1.0, np.nan]), yes)
    with pytest.raises(ValueError, match="one of each"):
        calls(yes, np.ones(3, dtype=bool))
    with pytest.raises(ValueError, match="missing"):
        crps(np.array([[1.0, np.nan]]), np.array([1.0]))
    with pytest.raises(ValueError, match="too few"):
        crps(np.array([[1.0]]), np.array([1.0]), fair=True)
    with pytest.raises(ValueError, match=r"\[n, m\]"):
        crps(np.array([1.0, 2.0]), np.array([1.0]))
    with pytest.raises(ValueError, match="edges"):
        reliability_table(np.ones(2), yes, (0.0, 0.5, 0.5, 1.0))
