"""Closed forms of calms, storms and waits: worked values, SciPy, simulation, and the open records."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from scheduling.access import fitting_starts, wait_slots
from scheduling.weather import persistence as forms
from scheduling.weather import weibull
from tests.scheduling.weather.records import mast, merra2


def near(value: float, places: float = 5e-5) -> object:
    return pytest.approx(value, abs=places)


def test_workable_hours_of_a_weibull_year() -> None:
    """Weibull 8/2: 7836.7 h a year at 12 m/s; 0.7904 of the time at 10 m/s (computed; SciPy beside)."""
    assert weibull.workable_h_a_year(12, 8, 2) == near(7836.7, 0.05)
    assert weibull.workable_h_a_year(10, 8, 2) / 8760 == near(0.7904) == near(stats.weibull_min(2, scale=8).cdf(10))


def test_mean_calm_and_storm() -> None:
    """resourcecode's documentation defines them; 720 h, 0.7, 24 calms: 21 and 9 h."""
    assert forms.mean_lengths_h(720, 0.7, 24) == pytest.approx((21.0, 9.0))


def test_calm_duration_as_weibull() -> None:
    """Form from a thesis on 9pdf.net, section 2.8.3; rho 20, beta 0.9, 12 h: 0.4682."""
    assert forms.calm_shorter_than(12, 20, 0.9) == near(0.4682) == near(stats.weibull_min(0.9, scale=20).cdf(12))


def test_weibull_persistence() -> None:
    """Walker et al. and EquiMar D7.4.1 (formulas from memory): P 0.7, tc 21, a 0.8, L 6: 0.4666, 335.9 of 720 h."""
    share = forms.weibull_time_in_calms(6, 0.7, 21, 0.8)
    assert share == near(0.4666)
    assert 720 * share == near(335.9, 0.05)
    assert forms.weibull_time_in_calms(6, 0.7, 21, 1.0) == pytest.approx(forms.exponential_chances(6, 0.7, 21).random_start)


def test_three_chances_of_a_window() -> None:
    """tc 21, P 0.7, L 6: 0.7515, 0.5260, 0.6763 (computed)."""
    found = forms.exponential_chances(6, 0.7, 21)
    assert (found.of_calms, found.random_start, found.time_inside) == (near(0.7515), near(0.5260), near(0.6763))


def simulated(mean_calm: float, mean_storm: float, count: int = 20_000) -> np.ndarray:
    """bool [t] in steps of 0.1 h: exponential calms and storms in turn, seeded."""
    rng = np.random.default_rng(11)
    lengths = np.stack([rng.exponential(mean_calm, count), rng.exponential(mean_storm, count)], axis=1).ravel()
    edges = np.cumsum(lengths)
    return np.searchsorted(edges, np.arange(0, edges[-1], 0.1)) % 2 == 0


@pytest.mark.parametrize(("stay", "expected"), [(6, 6.621), (12, 13.82)])
def test_expected_wait_of_exponential_calms_and_storms(stay: float, expected: float) -> None:
    """21 h calms, 9 h storms: 6.621 and 13.82 h (derived, simulated before: 6.625 and 13.78); simulated here again."""
    closed = forms.exponential_wait_h(stay, 21, 9)
    assert closed == near(expected, 0.005)
    waits = wait_slots(fitting_starts(simulated(21, 9), round(stay * 10))) / 10
    assert np.nanmean(waits) == pytest.approx(closed, rel=0.04)


def test_waits_at_the_ends() -> None:
    assert forms.exponential_wait_h(0, 21, 9) == pytest.approx(81 / 30)  # in a storm for 0.3 of the time, 9 h then
    assert forms.exponential_wait_h(1e-9, 21, 9) == pytest.approx(81 / 30)
    assert forms.exponential_wait_h(1e5, 21, 9) == math.inf
    assert forms.Markov(0.0, 0.5).wait_steps(2) == math.inf


def test_a_chain_of_short_steps_is_the_exponential_form() -> None:
    step = 0.01
    chain = forms.Markov(1 - step / 21, step / 9)
    assert chain.share == pytest.approx(0.7)
    assert chain.wait_steps(600) * step == pytest.approx(forms.exponential_wait_h(6, 21, 9), rel=2e-3)


def test_a_chains_wait_against_its_own_simulation() -> None:
    chain, rng = forms.Markov(0.9, 0.25), np.random.default_rng(5)
    drawn, good = rng.random(400_000), np.zeros(400_000, dtype=bool)
    for n in range(1, len(good)):
        good[n] = drawn[n] < (chain.calm_calm if good[n - 1] else chain.storm_calm)
    assert np.nanmean(wait_slots(fitting_starts(good, 5))) == pytest.approx(chain.wait_steps(5), rel=0.03)
    fitted = forms.markov_of(good, np.ones_like(good))
    assert (fitted.calm_calm, fitted.storm_calm) == pytest.approx((0.9, 0.25), abs=0.01)


OPEN = [("merra2", 3.707, 2.962, 2.750), ("mast", 5.499, 5.201, 5.100)]


@pytest.mark.parametrize(("name", "counted_h", "closed_h", "chain_h"), OPEN)
def test_the_forms_on_open_records(name: str, counted_h: float, closed_h: float, chain_h: float) -> None:
    """Six hours at 12 m/s. The record has seasons and its storms cluster, so both forms promise too short a wait (by a fifth
    and a quarter on the reanalysis; figures of this code, kept to see a change): they stand beside a count, never in its
    place.
    """
    series = merra2()[0] if name == "merra2" else mast()[0]
    good, known, step_h = series.values <= 12, np.isfinite(series.values), series.step_min / 60
    spells = forms.spells_of(good, known, step_h)
    assert spells is not None
    assert spells.share == pytest.approx(float(good.mean()))
    counted = float(np.nanmean(wait_slots(fitting_starts(good, round(6 / step_h))))) * step_h
    closed = forms.exponential_wait_h(6, spells.mean_calm_h, spells.mean_storm_h)
    chain = forms.markov_of(good, known).wait_steps(round(6 / step_h)) * step_h
    assert (counted, closed, chain) == pytest.approx((counted_h, closed_h, chain_h), abs=5e-4)
    assert chain < closed < counted


def test_spells_of_a_record_with_a_gap() -> None:
    good = np.array([1, 1, 0, 0, 1, 0, 1, 1], dtype=bool)
    known = np.array([1, 1, 1, 1, 1, 0, 1, 1], dtype=bool)
    spells = forms.spells_of(good, known, 1.0)
    assert spells is not None
    assert (spells.known_h, spells.calms) == (7.0, 3)
    assert (spells.mean_calm_h, spells.mean_storm_h) == pytest.approx((5 / 3, 2 / 3))
    assert forms.spells_of(good[:2], known[:2], 1.0) is None
    with pytest.raises(ValueError, match="no chain can be fitted"):
        forms.markov_of(good[:2], known[:2])


def test_days() -> None:
    """p 0.4, five days: 0.92224; a first workable day within 5 days at 90 %; 20 days at 0.65: offer 36 (SciPy beside)."""
    assert forms.chance_of_a_day(0.4, 5) == near(0.92224)
    assert forms.days_to_offer(1, 0.4, 0.9) == 5
    assert forms.days_to_offer(3, 0.5, 0.9) == 9 == 3 + int(stats.nbinom(3, 0.5).ppf(0.9))
    assert forms.days_to_offer(3, 0.5, 0.5) == 5
    assert forms.days_to_offer(20, 0.65, 0.9) == 36
    assert 1 - stats.binom(36, 0.65).cdf(19) == pytest.approx(0.912, abs=5e-4)


def test_nonsense_is_refused() -> None:
    for call in (
        lambda: forms.mean_lengths_h(0, 0.5, 1),
        lambda: forms.calm_shorter_than(1, 0, 1),
        lambda: forms.exponential_wait_h(6, 0, 9),
        lambda: forms.days_to_offer(0, 0.5, 0.9),
    ):
        with pytest.raises(ValueError, match="give"):
            call()
