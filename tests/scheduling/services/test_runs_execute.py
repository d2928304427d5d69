"""A run is carried out, each way it can end, with solvers that do as they are told."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from scheduling import solvers
from scheduling.models import Plan, Run
from scheduling.services import runs
from scheduling.services.runs import ending
from tests.farm import Farm
from tests.scheduling.services import scenes


@pytest.mark.django_db(transaction=True)
class TestExecute:
    def test_a_solved_run_is_done_and_drafted(self, rows: Farm, table: Callable[[Any], None]) -> None:
        table(scenes.gives(scenes.result(scenes.good_plan(), text="All planned.")))
        run = scenes.run(rows)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert (run.state, run.status, run.text, run.attempt) == ("done", "optimal", "All planned.", 1)
        assert run.value == pytest.approx(scenes.good_plan().value / 100)
        assert run.gap == 0.0
        assert run.versions["hand"] == "1"
        assert "ortools" in run.versions
        assert run.plan.visits.count() == 2

    def test_it_passes_the_runs_limits_on(self, rows: Farm, table: Callable[[Any], None], settings: Any) -> None:
        settings.SOLVE_THREADS = 3
        given: list[solvers.Limits] = []
        table(scenes.solver(lambda task, limits, *_: given.append(limits) or scenes.result(scenes.good_plan())))
        run = scenes.run(rows, seed=5)
        runs.run_execute(run_id=run.pk, worker="w1")
        assert given == [solvers.Limits(20.0, 0.01, seed=5, threads=3)]

    @pytest.mark.parametrize(
        ("status", "state"),
        [("optimal", "done"), ("gap reached", "done"), ("out of time", "done"), ("stopped", "stopped")],
    )
    def test_each_end_with_a_plan_has_its_own_text(
        self, rows: Farm, table: Callable[[Any], None], status: str, state: str
    ) -> None:
        table(scenes.gives(scenes.result(scenes.half_plan(), status)))
        run = scenes.run(rows)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert (run.state, run.text) == (state, ending.TEXTS[status])
        assert [left["order"] for left in run.plan.left_out] == ["W-2"]

    @pytest.mark.parametrize(
        ("status", "state", "told"),
        [
            ("out of time", "failed", "unknown"),
            ("unknown", "failed", "unknown"),
            ("infeasible", "infeasible", "infeasible"),
            ("empty", "done", "empty"),
            ("stopped", "stopped", "stopped"),
        ],
    )
    def test_each_end_without_a_plan_drafts_nothing(
        self, rows: Farm, table: Callable[[Any], None], status: str, state: str, told: str
    ) -> None:
        table(scenes.gives(scenes.result(scenes.no_plan(), status)))
        run = scenes.run(rows)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert (run.state, run.status, run.text) == (state, told, ending.TEXTS[told])
        assert (run.value, run.bound, run.gap) == (None, None, None)
        assert not Plan.objects.exists()

    def test_texts_differ(self) -> None:
        assert len(set(ending.TEXTS.values())) == len(ending.TEXTS) == len(ending.STATES)

    def test_a_crash_is_a_sentence_with_its_traceback(self, rows: Farm, table: Callable[[Any], None]) -> None:
        def crash(*_: Any) -> Any:
            raise ZeroDivisionError("deep inside")

        table(scenes.solver(crash))
        run = scenes.run(rows)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert run.state == "failed"
        assert "ZeroDivisionError" in run.text
        assert "deep inside" in run.error

    def test_a_stored_problem_that_does_not_read_says_where(self, rows: Farm, table: Callable[[Any], None]) -> None:
        table(scenes.gives(scenes.result(scenes.good_plan())))
        broken = {**scenes.stored_problem(), "slot_min": "thirty"}
        run = scenes.run(rows, problem=broken)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert run.state == "failed"
        assert "problem.slot_min" in run.text

    def test_a_draft_that_cannot_be_written_leaves_no_half_of_it(self, rows: Farm, table: Callable[[Any], None]) -> None:
        table(scenes.gives(scenes.result(scenes.good_plan())))
        run = scenes.run(rows)
        rows.people["Ben"].name = "Benno"
        rows.people["Ben"].save()
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert run.state == "failed"
        assert "gone are Ben" in run.text
        assert not Plan.objects.exists()

    def test_a_second_delivery_does_nothing(self, rows: Farm, table: Callable[[Any], None]) -> None:
        calls: list[int] = []
        table(scenes.solver(lambda *_: calls.append(1) or scenes.result(scenes.good_plan())))
        run = scenes.run(rows)
        for worker in ("w1", "w2"):
            runs.run_execute(run_id=run.pk, worker=worker)
        assert (len(calls), Plan.objects.count()) == (1, 1)

    def test_a_run_that_is_not_there_is_left_alone(self, rows: Farm) -> None:
        runs.run_execute(run_id=12345, worker="w1")

    def test_an_infinite_bound_is_no_number(self, rows: Farm, table: Callable[[Any], None]) -> None:
        found = scenes.result(scenes.good_plan(), "out of time")
        table(scenes.gives(type(found)(**{**vars(found), "bound": float("-inf")})))
        run = scenes.run(rows)
        runs.run_execute(run_id=run.pk, worker="w1")
        run.refresh_from_db()
        assert (run.state, run.bound, run.gap) == ("done", None, None)


def in_thread(work: Callable[[], None]) -> threading.Thread:
    """Work in a thread with a database connection of its own."""

    def body() -> None:
        try:
            work()
        finally:
            connection.close()

    thread = threading.Thread(target=body)
    thread.start()
    return thread


def wait_for(run: Run, ready: Callable[[Run], bool], seconds: float = 10.0) -> None:
    """Look at the row until it is as expected."""
    pause = threading.Event()
    for _ in range(int(seconds / 0.05)):
        run.refresh_from_db()
        if ready(run):
            return
        pause.wait(0.05)
    pytest.fail(f"run is {run.state!r}: {run.text}")


@pytest.mark.django_db(transaction=True)
class TestWhileItRuns:
    def test_progress_shows_and_a_stop_keeps_the_best_plan(self, rows: Farm, table: Callable[[Any], None]) -> None:
        slow = scenes.Slow(scenes.half_plan(), scenes.result(scenes.good_plan()))
        table(scenes.solver(slow.solve))
        run = scenes.run(rows)
        thread = in_thread(lambda: runs.run_execute(run_id=run.pk, worker="w1"))
        try:
            wait_for(run, lambda row: row.best is not None)
            assert (run.state, run.value, run.bound, run.gap) == ("solving", scenes.half_plan().value / 100, 0.0, 1.0)
            assert run.trace == [[0.1, run.value, 0.0]]
            assert runs.run_stop(run=run, by=None).stop_asked
        finally:
            thread.join(15)
        run.refresh_from_db()
        assert (run.state, run.text) == ("stopped", ending.TEXTS["stopped"])
        assert run.plan.visits.count() == 1

    def test_a_worker_that_lost_its_claim_writes_nothing(self, rows: Farm, table: Callable[[Any], None]) -> None:
        slow = scenes.Slow(scenes.half_plan(), scenes.result(scenes.good_plan()))
        table(scenes.solver(slow.solve))
        run = scenes.run(rows)
        thread = in_thread(lambda: runs.run_execute(run_id=run.pk, worker="w1"))
        try:
            wait_for(run, lambda row: row.best is not None)
            Run.objects.filter(pk=run.pk).update(attempt=2, text="with w2")
            slow.end.set()
        finally:
            thread.join(15)
        run.refresh_from_db()
        assert (run.state, run.attempt, run.text) == ("solving", 2, "with w2")
        assert not Plan.objects.exists()

    def test_of_two_workers_at_once_one_solves(self, rows: Farm, table: Callable[[Any], None]) -> None:
        calls: list[int] = []
        table(scenes.solver(lambda *_: calls.append(1) or scenes.result(scenes.good_plan())))
        run = scenes.run(rows)
        threads = [in_thread(lambda n=n: runs.run_execute(run_id=run.pk, worker=f"w{n}")) for n in range(4)]
        for thread in threads:
            thread.join(15)
        assert (len(calls), Plan.objects.count()) == (1, 1)
