"""Solving what-ifs beside the base's own runs, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from planner.errors import ConflictError, NotAllowedError, PlannerError
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import plan_from_json, plan_to_json
from scheduling.fortnight.problem import problem_from_json
from scheduling.models import Plan, Run
from scheduling.services.runs import run_create, run_execute, run_stop, runs_recover
from scheduling.services.what_ifs import what_if_solve, what_if_throw_away
from scheduling.tasks import what_if_ask
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import BY_HAND, CLOSED, HIRED, run_of, solved, what_if


def test_the_answer_keeps_the_changes_and_the_hard_rules_and_drafts_nothing(rows: Farm) -> None:
    made = solved(rows, CLOSED, HIRED)
    run = made.result
    assert run is not None
    assert (run.state, run.what_if_id) == ("done", made.pk)
    problem, plan = problem_from_json(run.problem), plan_from_json(run.best)
    assert check(problem, plan) == ()
    assert [(v.turbine, problem.days[v.day].date) for v in plan.visits if v.turbine == "HILL H1"] == [("HILL H1", "2026-06-11")]
    assert not Plan.objects.exists()


def test_left_out_by_hand_is_told_as_such(rows: Farm) -> None:
    (row,) = solved(rows, BY_HAND).left_out
    assert (row["order"], row["code"], row["reason"]) == ("W-2", "by hand", "Left out by hand in this what-if.")


def test_it_runs_beside_the_base_and_beside_other_what_ifs(rows: Farm) -> None:
    one, other = what_if(rows), what_if(rows, name="other")
    run_create(base=rows.north, kind="fortnight", first_day=scenes.FIRST, days=2, by=None)
    assert {what_if_solve(what_if=row, by=None).state for row in (one, other)} == {"queued"}
    with pytest.raises(ConflictError, match=r"Run \d+ of what-if .* is queued"):
        what_if_solve(what_if=one, by=None)
    with pytest.raises(ConflictError):
        run_create(base=rows.north, kind="fortnight", first_day=scenes.FIRST, days=2, by=None)


def test_the_database_holds_one_open_run_for_each(rows: Farm) -> None:
    one = what_if(rows)
    scenes.run(rows, what_if=one)
    scenes.run(rows)
    for more in ({"what_if": one}, {}):
        with pytest.raises(IntegrityError), transaction.atomic():
            scenes.run(rows, **more)


@pytest.mark.django_db(transaction=True)
def test_progress_and_stop_are_those_of_every_run(rows: Farm, table: Callable[[Any], None]) -> None:
    slow = scenes.Slow(scenes.good_plan(), scenes.result(scenes.good_plan()))
    slow.end.set()
    table(scenes.solver(slow.solve))
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)
    run_stop(run=run, by=None)
    run.refresh_from_db()
    assert (run.state, run.text) == ("stopped", "Stopped before a worker began it: there is no plan.")
    made.refresh_from_db()
    assert made.result is None
    again = what_if_solve(what_if=made, by=None)
    run_execute(run_id=again.pk, worker="here")
    made.refresh_from_db()
    assert made.result_id == again.pk


@pytest.mark.django_db(transaction=True)
def test_a_run_that_finds_no_plan_is_no_answer(rows: Farm, table: Callable[[Any], None]) -> None:
    table(scenes.gives(scenes.result(scenes.no_plan(), "infeasible")))
    made = what_if(rows)
    run_execute(run_id=what_if_solve(what_if=made, by=None).pk, worker="here")
    made.refresh_from_db()
    assert (made.result, run_of(made).state) == (None, "infeasible")


@pytest.mark.django_db(transaction=True)
def test_thrown_away_while_it_solves_it_gets_no_answer(rows: Farm, table: Callable[[Any], None]) -> None:
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)

    def thrown_away_meanwhile(task: Any, limits: Any, on_step: Any, should_stop: Any) -> Any:
        what_if_throw_away(what_if=made, by=None)
        return scenes.result(scenes.good_plan())

    table(scenes.solver(thrown_away_meanwhile))
    run_execute(run_id=run.pk, worker="here")
    run.refresh_from_db()
    assert (run.state, run.best is not None) == ("done", True), "the run keeps what it found"
    made.refresh_from_db()
    assert (made.state, made.result) == ("thrown away", None)
    with pytest.raises(ConflictError, match="thrown away"):
        what_if_solve(what_if=made, by=None)


def test_asked_to_stop_and_lost_it_keeps_the_best_as_its_answer(rows: Farm) -> None:
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)
    best = plan_to_json(scenes.half_plan())
    Run.objects.filter(pk=run.pk).update(
        state="solving", attempt=1, stop_asked=True, beat_at=NOW - timedelta(hours=1), best=best, value=1.0
    )
    assert runs_recover() == []
    made.refresh_from_db()
    assert made.result_id == run.pk
    assert [row["order"] for row in made.left_out] == ["W-2"]


@pytest.mark.parametrize("params", [{"colour": 1}, {"time_limit_s": -1}, {"gap": 2}])
def test_parameters_are_checked(params: dict[str, Any], rows: Farm) -> None:
    with pytest.raises(PlannerError):
        what_if_solve(what_if=what_if(rows), by=None, params=params)
    assert not Run.objects.exists()


def test_only_planners(rows: Farm, viewer_user: User, stranger: User) -> None:
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            what_if_solve(what_if=what_if(rows, name=user.username), by=user)


def test_the_run_is_queued_on_commit(
    rows: Farm, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    queued: list[int] = []
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", queued.append)
    with django_capture_on_commit_callbacks(execute=True):
        run = what_if_ask(what_if=what_if(rows), by=None)
    assert queued == [run.pk]


def test_the_same_changes_and_seed_give_the_same_plan(rows: Farm) -> None:
    one, other = solved(rows, CLOSED), solved(rows, CLOSED, name="again")
    assert one.result is not None
    assert other.result is not None
    assert one.result.best == other.result.best
