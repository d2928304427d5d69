"""Every way a solve can end is a result with a text; the same problem and seed give the same plan."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.beside import Beside
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem, PublishedVisit
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import fortnight_case, random_small
from tests.scheduling.fortnight.farms import tiny, with_orders, with_people

QUICK = Params(time_limit_s=20.0)


def test_a_small_problem_is_proven() -> None:
    result = solve(tiny(), QUICK)
    assert result.status == "optimal"
    assert result.gap == pytest.approx(0.0, abs=1e-4)
    assert check(tiny(), result.plan) == ()
    assert result.versions["ortools"]


def test_the_same_problem_and_seed_give_the_same_plan() -> None:
    assert solve(tiny(), Params(seed=3, threads=1)).plan == solve(tiny(), Params(seed=3, threads=1)).plan


def test_no_orders_is_a_result() -> None:
    result = solve(replace(tiny(), orders=()), QUICK)
    assert (result.status, result.plan.visits, result.plan.value) == ("empty", (), 0)
    assert result.text


@pytest.mark.parametrize("without", [{"people": ()}, {"vehicles": ()}, {"turbines": ()}])
def test_without_means_everything_is_left_out(without: dict[str, tuple[()]]) -> None:
    problem = replace(tiny(), **without) if "turbines" not in without else still(tiny())
    result = solve(problem, QUICK)
    assert result.status == "optimal"
    assert result.plan.left_out == tuple(o.id for o in problem.orders)
    assert result.plan.value == 500_000 * 5
    assert check(problem, result.plan) == ()


def still(problem: Problem) -> Problem:
    """No weather to work in."""
    return replace(problem, workable={"calm": "A" * len(problem.workable["calm"])})


def test_pins_that_cannot_be_kept_are_named() -> None:
    result = solve(with_orders(tiny(), repair={"pins": ((0, 2, 1),)}), QUICK)  # all members are windy then
    assert result.status == "infeasible"
    assert "repair" in result.text
    large = with_orders(fortnight_case("small", 2), W001={"pins": ((0, 6, 1),)})  # a Sunday
    assert "W001" in solve(large, Params(time_limit_s=1.0)).text


def test_a_pin_that_can_be_kept_is_kept() -> None:
    result = solve(with_orders(tiny(), repair={"pins": ((0, 1, 5),)}), QUICK)
    at = [(v.day, v.start) for v in result.plan.visits if any(j.order == "repair" for j in v.jobs)]
    assert at == [(1, 5)]
    assert result.status == "optimal"


def test_a_published_visit_stays_when_nothing_speaks_against_it() -> None:
    stood = replace(tiny(), published=(PublishedVisit("repair", 0, 0, 9, ("ann", "cem"), 20_000),))
    visit = next(v for v in solve(stood, QUICK).plan.visits if v.jobs[0].order == "repair")
    assert (visit.day, visit.start) == (0, 9)


def test_a_learner_counts_as_nothing() -> None:
    problem = with_people(tiny(), cem={"learner": True}, dia={"learner": True})
    result = solve(problem, QUICK)
    assert check(problem, result.plan) == ()
    assert "crane work" in result.plan.left_out  # needs three who count


def test_out_of_time_and_stopped_keep_the_best_plan_so_far() -> None:
    problem, told = fortnight_case("small", 1), list[tuple[float, int, float, Plan]]()
    late = solve(problem, Params(time_limit_s=3.0), on_progress=lambda *now: told.append(now))
    assert late.status == "out of time"
    assert late.seconds < 6.0
    assert check(problem, late.plan) == ()
    assert late.bound <= late.plan.value
    assert told[0][0] < 3.0
    assert [value for _, value, _, _ in told] == sorted((value for _, value, _, _ in told), reverse=True)
    stopped = solve(problem, Params(time_limit_s=60.0), should_stop=lambda: True)
    assert stopped.status == "stopped"
    assert stopped.seconds < 6.0
    assert check(problem, stopped.plan) == ()


def test_a_gap_that_is_reached_ends_the_search() -> None:
    assert solve(fortnight_case("small", 1), Params(time_limit_s=20.0, gap=1.0)).status == "gap reached"


@pytest.mark.parametrize("seed", range(6))
def test_the_search_alone_keeps_every_rule_and_bound(seed: int) -> None:
    problem = random_small(seed)
    exact, searched = solve(problem, QUICK), solve(problem, Params(time_limit_s=0.4, exact=False))
    assert check(problem, searched.plan) == ()
    assert searched.plan.value >= exact.plan.value - 2
    assert searched.bound <= exact.plan.value + 2


def test_on_one_thread_the_search_begins_when_the_bound_has_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    running: list[bool] = []
    step = Beside.step

    def watched(beside: Beside, heat: float) -> bool:
        running.append(beside.bound.running())
        return step(beside, heat)

    monkeypatch.setattr(Beside, "step", watched)
    result = solve(fortnight_case("small", 1), Params(time_limit_s=6.0, threads=1))
    assert running
    assert not any(running)
    assert 0 < result.bound <= result.plan.value
    assert "bound stopped early" not in result.text
