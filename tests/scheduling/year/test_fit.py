"""Which years must fit, against a count over every set of years."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from scheduling.year.fit import Fit, fit_of_week
from scheduling.year.problem import Rules
from scheduling.year.tables import tables
from tests.scheduling.year.farm import service, with_items


def week_of(shares: list[tuple[float, float]], fit_share: float) -> Fit:
    """One week with two limit sets and the given (climb, roof) shares by year."""
    base = with_items(service("T1", weeks=(0,)), service("T2", weeks=(0,)))
    items = (base.items[0], replace(base.items[1], limit="roof"))
    table = {key: tuple((pair[n],) * 6 for pair in shares) for n, key in enumerate(("climb", "roof"))}
    problem = replace(
        base,
        items=items,
        scenarios=tuple(map(str, range(len(shares)))),
        workable_share=table,
        lost_mwh_per_stop_h={"type A": ((0.0,) * 6,) * len(shares)},
        rules=Rules(fit_share=fit_share),
    )
    t = tables(problem)
    return fit_of_week(t, 0, t.load.sum(axis=0))


def test_years_in_a_row_leave_no_choice() -> None:
    fit = week_of([(0.2, 0.1), (0.9, 0.8), (0.5, 0.4), (0.7, 0.6)], 0.5)
    assert (fit.must, fit.open, fit.count) == ({1, 3}, {}, 0)


def test_equal_years_are_told_apart_by_their_number() -> None:
    fit = week_of([(0.5, 0.5)] * 4, 0.5)
    assert (fit.must, fit.open) == ({0, 1}, {})


def test_years_that_cannot_be_compared_stay_open() -> None:
    fit = week_of([(0.9, 0.2), (0.8, 0.3), (0.1, 0.1)], 0.3)
    assert (fit.must, set(fit.open), fit.count) == (frozenset(), {0, 1}, 1)


@pytest.mark.parametrize("seed", range(30))
def test_against_every_choice_of_years(seed: int) -> None:
    """Loads that fit in enough years are exactly those that fit in all that must and in `count` open ones."""
    rng = np.random.default_rng(seed)
    shares = [tuple(map(float, pair)) for pair in rng.choice([0.1, 0.3, 0.6, 1.0], (4, 2))]
    need = int(rng.integers(1, 5))
    fit = week_of(shares, need / 4)
    for climb, roof in rng.uniform(0, 70, (20, 2)):
        fits = {s for s, share in enumerate(shares) if _fits(climb, roof, share)}
        plain = any(set(years) <= fits for years in combinations(range(4), need))
        assert plain == (fit.must <= fits and len(fits & set(fit.open)) >= fit.count)


def _fits(climb: float, roof: float, share: tuple[float, float]) -> bool:
    loads = sorted([(share[0], climb), (share[1], roof)])
    total = loads[0][1] + loads[1][1]
    strict = share[0] == share[1] or loads[0][1] <= 100 * loads[0][0]
    return strict and total <= 100 * loads[1][0]
