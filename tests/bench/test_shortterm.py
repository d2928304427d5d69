"""The generated short-horizon cases: their shape, their repeatability, and one measured quickly."""

from __future__ import annotations

from tests.bench.bench_shortterm import NUMBERS, run
from tests.bench.shortterm.cases import LOAD, SHAPES, _splits, shortterm_case


def test_the_grid_of_80_cases_has_every_feature() -> None:
    assert len(NUMBERS) == 80
    assert {s.tasks for s in SHAPES} == {20, 40, 80}
    assert {s.a_day for s in SHAPES} == {2, 4}
    assert (min(s.periods for s in SHAPES), max(s.periods for s in SHAPES)) == (10, 40)
    assert {s.skills for s in SHAPES} == {1, 3}
    assert {s.crew for s in SHAPES} == set(LOAD)


def test_a_case_is_the_same_each_time_and_has_its_size() -> None:
    shape = SHAPES[23]
    problem = shortterm_case(shape, 1)
    assert problem == shortterm_case(shape, 1)
    assert problem != shortterm_case(shape, 2)
    assert len(problem.orders) == shape.tasks
    assert len(problem.days) * shape.a_day == shape.periods
    assert len({mode.team for order in problem.orders for mode in order.modes}) > 1


def test_nights_cut_a_task_in_every_way() -> None:
    assert _splits(2, 2) == [(2,), (1, 1)]
    assert _splits(5, 2) == [(1, 2, 2), (2, 2, 1)]
    assert _splits(1, 4) == [(1,)]


def test_a_small_case_is_solved_to_the_gap_asked_for() -> None:
    row = run("20-2-10-1-regular-1", seconds=30.0)
    assert row["violations"] == 0
    assert row["gap"] <= 0.005
    assert 0 <= row["revenue_gap"] <= row["gap"]
    assert row["bound"] <= row["value"] + 1
