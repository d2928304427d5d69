"""The search on instances small enough to count out, and on a public one."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from tests.bench import bench_teams2007
from tests.bench.teams2007.board import Board
from tests.bench.teams2007.evaluate import value, violations
from tests.bench.teams2007.instances import ABSENT, best_known, load, present
from tests.bench.teams2007.numbers import Numbers
from tests.bench.teams2007.reader import Instance, Job, Technician
from tests.bench.teams2007.search import Search
from tests.bench.teams2007.test_evaluate import TINY

FOUR = tuple(Technician(i, (1,), frozenset({1} if i == 4 else ())) for i in range(1, 5))
PAIRS = Instance("pairs", 1, 1, 0, tuple(Job(i, 120, (), 1, 0, ((2,),)) for i in range(1, 4)), FOUR)
"""Three days' work for pairs of four people, of whom one is absent on day 1: one job on day 1, two on day 2."""


def test_a_tiny_instance_by_hand() -> None:
    plan = Search(TINY, 2.0, 1, enough=600).run()
    assert violations(TINY, plan) == []
    # Jobs 1, 2 and 4 go to others for 25 and job 3 is done at once: 4 x 120 + 120. All four would cost 45; without job 2, job 1
    # may not go either; giving away 1 and 2 alone leaves 3 and 4, which end at 150: 4 x 120 + 150.
    assert plan.outsourced == {1, 2, 4}
    assert value(TINY, plan) == 600


def test_people_absent_decide_how_many_teams_there_are() -> None:
    plan = Search(PAIRS, 2.0, 1, enough=28 * 240 + 240).run()
    assert violations(PAIRS, plan) == []
    assert value(PAIRS, plan) == 29 * 240
    assert sorted(v.day for v in plan.visits) == [1, 2, 2]


def test_an_empty_budget_gives_nothing_away() -> None:
    instance = replace(TINY, budget=0)
    plan = Search(instance, 1.0, 1).run()
    assert violations(instance, plan) == []
    assert plan.outsourced == frozenset()


def test_the_fewest_people_of_a_job() -> None:
    assert Numbers(TINY).size == [1, 2, 1, 1]


def test_giving_a_job_away_takes_what_waits_for_it_along() -> None:
    board = Board(Numbers(TINY), random.Random(1))
    assert board.give(2)
    assert (board.given, board.spent) == ({2, 3}, 25)
    assert not board.give(1)


@pytest.mark.skipif(not present(), reason=ABSENT)
def test_the_first_public_instance_reaches_its_best_known_value() -> None:
    instance = load("A1")
    plan = Search(instance, 6.0, 1, enough=2340).run()
    assert violations(instance, plan) == []
    assert value(instance, plan) == 2340 == best_known("A1")


def test_where_the_instances_are_absent_a_row_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_teams2007, "present", lambda: False)
    row = bench_teams2007.run("B3", 1)
    assert row["status"] == ABSENT
    assert row["value"] is None


def test_the_mean_of_a_set_uses_the_rows_measured_before(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = {(f"A{n}", 7): {"gap": 0.01 * (n == 1), "seconds": 2.0, "violations": 0} for n in range(1, 11)}
    monkeypatch.setattr(bench_teams2007, "_measured", rows)
    monkeypatch.setattr(bench_teams2007, "present", lambda: True)
    row = bench_teams2007.run("A", 7)
    assert (row["gap"], row["seconds"], row["status"]) == (0.001, 20.0, "aim met")
