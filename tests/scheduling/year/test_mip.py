from __future__ import annotations

import pytest

from scheduling.year.mip import INF, Mip, Outcome, run


def knapsack() -> Mip:
    """max 5a + 4b + 3c with 2a + 3b + c <= 4: a and c, worth 8."""
    mip = Mip()
    picks = [mip.add_var(-value, whole=True) for value in (5.0, 4.0, 3.0)]
    mip.add_row(list(zip(picks, (2.0, 3.0, 1.0), strict=True)), upper=4.0)
    return mip


def solved(mip: Mip, **options: object) -> Outcome:
    return run(mip, seconds=10.0, gap=0.0, threads=1, seed=1, watch=lambda value, bound: False, **options)


def test_the_optimum_with_its_bound() -> None:
    found = solved(knapsack())
    assert (found.ended, found.value, found.bound) == ("optimal", -8.0, -8.0)
    assert found.values is not None
    assert found.values.tolist() == [1.0, 0.0, 1.0]


def test_the_relaxation_and_held_variables() -> None:
    assert solved(knapsack(), relax=True).value == pytest.approx(-5 - 3 - 4 / 3)
    assert solved(knapsack(), fixed={0: 0.0}).value == -7.0


def test_a_start_is_taken() -> None:
    assert solved(knapsack(), start={0: 1.0, 1: 0.0, 2: 1.0}).value == -8.0


def test_no_values_are_read_where_there_is_no_solution() -> None:
    mip = knapsack()
    mip.add_row([(0, 1.0), (1, 1.0), (2, 1.0)], lower=4.0)
    found = solved(mip)
    assert (found.ended, found.values) == ("infeasible", None)


def test_another_number_of_threads_than_the_run_before() -> None:
    """HiGHS answers with an error unless its scheduler is set up anew (seen on 1.16)."""
    for threads in (1, 2, 1):
        found = run(knapsack(), seconds=10.0, gap=0.0, threads=threads, seed=1, watch=lambda value, bound: False)
        assert (found.ended, found.value) == ("optimal", -8.0)


def test_an_unbounded_program_is_no_optimum() -> None:
    mip = Mip()
    mip.add_var(-1.0, upper=INF)
    found = solved(mip)
    assert found.ended not in ("optimal", "infeasible")
    assert found.bound == -INF
