"""What happens to a run when its worker is killed, stopped, asked twice, or never hears of it. Real worker, real queue."""

from __future__ import annotations

import pytest
from django.db import transaction

from scheduling.models import Plan, Run
from scheduling.services import runs
from scheduling.tasks import run_queue, run_solve
from tests.faults.conftest import Bench, answers, gone, kill
from tests.scheduling.services import scenes

pytestmark = pytest.mark.worker


def test_progress_shows_and_a_stop_keeps_the_best_plan(bench: Bench) -> None:
    run = bench.queued()
    bench.until(run, lambda row: row.best is not None)
    assert (run.state, run.value, run.gap) == ("solving", scenes.half_plan().value / 100, 1.0)
    runs.run_stop(run=run, by=None)
    bench.until(run, lambda row: not row.is_open)
    assert (run.state, run.plan.visits.count()) == ("stopped", 1)


def test_a_killed_child_is_noticed_and_the_run_taken_up_again(bench: Bench) -> None:
    run = bench.queued()
    kill(bench.solver_pid())
    second = bench.solver_pid(2)
    bench.until(run, lambda row: row.attempt == 2)
    assert run.best is not None
    bench.go()
    bench.until(run, lambda row: not row.is_open)
    assert (run.state, run.attempt, Plan.objects.count()) == ("done", 2, 1)
    assert run.value == pytest.approx(scenes.good_plan().value / 100)
    assert not gone(second)


def test_after_two_kills_it_is_lost_with_its_cause_and_the_best_plan_kept(bench: Bench) -> None:
    run = bench.queued()
    for number in (1, 2):
        kill(bench.solver_pid(number))
    bench.until(run, lambda row: not row.is_open)
    assert (run.state, run.attempt, Plan.objects.count()) == ("lost", 2, 0)
    assert "worker was lost 2 times" in run.text
    assert run.best is not None
    assert not (bench.folder / "pid-3").exists()


def test_extra_deliveries_change_nothing(bench: Bench) -> None:
    run = bench.queued()
    bench.solver_pid()
    for _ in range(3):
        run_solve.delay(run.pk)
    bench.go()
    bench.until(run, lambda row: not row.is_open)
    run_solve.delay(run.pk)
    bench.wait(lambda: bench.log.count("run_solve[") >= 10, "the extra messages were not carried")
    run.refresh_from_db()
    assert (run.state, run.attempt, Plan.objects.count()) == ("done", 1, 1)
    assert not (bench.folder / "pid-2").exists()


def test_a_busy_worker_still_answers(bench: Bench) -> None:
    """With a message waiting behind the solve; else `serve` would take it for dead and start a second one."""
    run = bench.queued()
    bench.solver_pid()
    run_solve.delay(run.pk)
    bench.wait(lambda: bench.log.count("run_solve[") >= 2, "the second message was not taken")
    assert answers(bench.children)
    bench.go()
    bench.until(run, lambda row: not row.is_open)


def test_the_soft_limit_ends_a_solver_that_does_not_listen(bench: Bench) -> None:
    run = bench.queued("slow and deaf")
    bench.until(run, lambda row: not row.is_open)
    assert (run.state, Plan.objects.count()) == ("failed", 0)
    assert "time limit ended the solve" in run.text
    assert "SoftTimeLimitExceeded" in run.error
    assert run.best is not None


def test_a_rollback_queues_nothing_and_a_commit_is_found(bench: Bench) -> None:
    def break_off() -> None:
        with transaction.atomic():
            bench.queued()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    with transaction.atomic():
        run = bench.queued("tiny")
        bench.wait(lambda: bench.log.count("Sending due task") >= 1, "beat is silent")
        assert "run_solve[" not in bench.log
    bench.until(run, lambda row: not row.is_open)
    assert run.state == "done", run.error
    assert not (bench.folder / "pid-1").exists()


def test_the_real_solver_again_and_again_in_forked_children(bench: Bench) -> None:
    """OR-Tools and HiGHS start threads; a child forked after that would wait for ever."""
    for seed in range(6):
        run = bench.queued("tiny", seed=seed)
        bench.until(run, lambda row: not row.is_open)
        assert (run.state, run.status) == ("done", "optimal"), run.error
    assert Plan.objects.count() == 6


def test_a_message_lost_with_its_worker_is_sent_again(bench: Bench) -> None:
    """A run is queued in the database but nobody was told: the sweep finds it."""
    run = scenes.run(bench.farm)
    bench.until(run, lambda row: not row.is_open)
    assert run.state == "done", run.error


def test_a_stop_while_no_worker_holds_it_drafts_the_best_plan(bench: Bench) -> None:
    run = bench.queued()
    bench.until(run, lambda row: row.best is not None)
    Run.objects.filter(pk=run.pk).update(stop_asked=True)
    kill(bench.solver_pid())
    bench.until(run, lambda row: not row.is_open)
    assert (run.state, run.plan.visits.count()) == ("stopped", 1)
    run_queue(run)
