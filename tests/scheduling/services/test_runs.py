"""A run from the asking to its end, each way it can end, with solvers that do as they are told."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError, PlannerError
from scheduling import solvers
from scheduling.builders import fortnight as builder
from scheduling.builders import round as year_builder
from scheduling.choices import RunState
from scheduling.models import Plan, Run
from scheduling.services import runs
from scheduling.services.runs import ending
from scheduling.services.runs.watch import Watch
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes

LATER = NOW + timedelta(seconds=61)


@pytest.fixture
def table(monkeypatch: pytest.MonkeyPatch) -> Callable[[Any], None]:
    """Put a solver in the place of the fortnight's."""
    return lambda entry: monkeypatch.setitem(solvers.SOLVERS, "fortnight", entry)


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with orders W-1 and W-2."""
    list(scenes.orders(farm))
    return farm


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> None:
    """The builder gives the problem of scenes.py."""
    monkeypatch.setattr(builder, "fortnight_problem", lambda **_: scenes.problem())


def create(farm: Farm, by: User | None = None, **more: Any) -> Run:
    asked = {"base": farm.north, "kind": "fortnight", "first_day": scenes.FIRST, "days": 2, "by": by, "now": NOW}
    return runs.run_create(**{**asked, **more})


class TestCreate:
    def test_freezes_the_problem(self, rows: Farm, built: None, planner_user: User) -> None:
        run = create(rows, planner_user, seed=7, params={"time_limit_s": 5})
        run.refresh_from_db()
        assert (run.state, run.seed, run.params) == ("queued", 7, {"time_limit_s": 5.0, "gap": 0.01})
        assert solvers.solver_for("fortnight").read(run.problem) == scenes.problem()

    def test_a_second_open_run_is_refused_by_the_name_of_the_first(self, rows: Farm, built: None) -> None:
        first = create(rows)
        with pytest.raises(ConflictError, match=f"Run {first.pk} .*wait for it or stop it") as refused:
            create(rows)
        assert refused.value.extra == {"run": first.pk}
        Run.objects.update(state="done")
        create(rows)

    def test_only_a_planner_of_every_site_of_the_base(
        self, rows: Farm, built: None, lead_user: User, stranger: User, planner_user: User
    ) -> None:
        for user in (lead_user, stranger):
            with pytest.raises(NotAllowedError):
                create(rows, user)
        rows.plain.base = rows.north
        rows.plain.save()
        with pytest.raises(NotAllowedError):
            create(rows, planner_user)
        assert not Run.objects.exists()

    @pytest.mark.parametrize(
        ("asked", "field"),
        [
            ({"kind": "month"}, "kind"),
            ({"days": 0}, "days"),
            ({"days": 29}, "days"),
            ({"params": {"time_limit_s": 0}}, "params"),
            ({"params": {"time_limit_s": float("nan")}}, "params"),
            ({"params": {"time_limit_s": 1800}}, "params"),
            ({"params": {"gap": float("nan")}}, "params"),
            ({"params": {"gap": "small"}}, "params"),
            ({"params": {"gap": True}}, "params"),
            ({"params": {"workers": 8}}, "params"),
            ({"seed": -1}, "seed"),
        ],
    )
    def test_bad_input_names_its_field(self, rows: Farm, built: None, asked: dict[str, Any], field: str) -> None:
        with pytest.raises(PlannerError) as refused:
            create(rows, **asked)
        assert refused.value.field == field
        assert not Run.objects.exists()

    def test_a_problem_that_contradicts_itself_is_a_sentence(self, rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
        def broken(**_: Any) -> None:
            raise ValueError("orders[3].days: day 99 does not exist")

        monkeypatch.setattr(builder, "fortnight_problem", broken)
        with pytest.raises(PlannerError, match="day 99"):
            create(rows)

    def test_a_year_begins_on_its_monday(self, rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
        asked: dict[str, Any] = {}
        monkeypatch.setattr(year_builder, "round_problem", lambda **given: asked.update(given) or scenes.problem())
        run = create(rows, kind="year", days=365)
        assert (run.first_day, asked["first_day"], asked["weeks"]) == (date(2026, 6, 8), date(2026, 6, 8), 53)


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
        broken = {**scenes.run(rows).problem, "slot_min": "thirty"}
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


class TestClaim:
    def test_a_queued_run_is_claimed_once(self, rows: Farm) -> None:
        run = scenes.run(rows)
        claimed = runs.run_claim(run_id=run.pk, worker="w1", now=NOW)
        assert claimed is not None
        assert (claimed.state, claimed.attempt, claimed.beat_at) == ("solving", 1, NOW)
        assert runs.run_claim(run_id=run.pk, worker="w2", now=NOW) is None

    @pytest.mark.parametrize(("seconds", "taken"), [(60, False), (61, True)])
    def test_a_redelivery_takes_over_only_a_silent_run(self, rows: Farm, seconds: int, taken: bool) -> None:
        run = scenes.run(rows, state="solving", attempt=1, beat_at=NOW)
        claimed = runs.run_claim(run_id=run.pk, worker="w2", now=NOW + timedelta(seconds=seconds))
        assert (claimed is not None) is taken

    def test_a_redelivery_does_not_give_a_third_try(self, rows: Farm) -> None:
        run = scenes.run(rows, state="solving", attempt=2, beat_at=NOW)
        assert runs.run_claim(run_id=run.pk, worker="w2", now=LATER) is None

    @pytest.mark.parametrize("state", ["done", "stopped", "infeasible", "failed", "lost"])
    def test_an_ended_run_is_never_claimed(self, rows: Farm, state: str) -> None:
        assert runs.run_claim(run_id=scenes.run(rows, state=state).pk, worker="w1", now=LATER) is None


class TestStop:
    def test_a_queued_run_ends_at_once(self, rows: Farm) -> None:
        run = runs.run_stop(run=scenes.run(rows), by=None)
        assert (run.state, run.text) == ("stopped", ending.STOPPED_EARLY)
        assert run.ended_at is not None
        assert not Plan.objects.exists()

    def test_a_queued_run_that_lost_its_worker_keeps_its_plan(self, rows: Farm) -> None:
        best = scenes.solver(lambda *_: None)().write(scenes.half_plan())
        run = runs.run_stop(run=scenes.run(rows, attempt=1, best=best, value=1.0), by=None)
        assert (run.state, run.text) == ("stopped", ending.STOPPED_LOST)
        assert run.plan.visits.count() == 1

    def test_an_ended_run_cannot_be_stopped(self, rows: Farm) -> None:
        with pytest.raises(ConflictError, match="has ended already"):
            runs.run_stop(run=scenes.run(rows, state="done"), by=None)

    def test_only_planners_stop(self, rows: Farm, lead_user: User) -> None:
        run = scenes.run(rows)
        with pytest.raises(NotAllowedError):
            runs.run_stop(run=run, by=lead_user)
        assert Run.objects.get().state == "queued"


class TestRecover:
    def silent(self, farm: Farm, **more: Any) -> Run:
        return scenes.run(farm, **{"state": "solving", "attempt": 1, "beat_at": NOW, **more})

    def test_a_silent_run_is_queued_again_and_only_once(self, rows: Farm) -> None:
        run = self.silent(rows)
        assert runs.runs_recover(now=NOW + timedelta(seconds=60)) == []
        assert runs.runs_recover(now=LATER) == [run]
        assert runs.runs_recover(now=LATER) == []
        run.refresh_from_db()
        assert (run.state, run.attempt) == ("queued", 1)

    def test_after_its_tries_it_is_lost_with_cause_and_best_plan_kept(self, rows: Farm) -> None:
        best = scenes.solver(lambda *_: None)().write(scenes.half_plan())
        run = self.silent(rows, attempt=2, best=best, value=1.0)
        assert runs.runs_recover(now=LATER) == []
        run.refresh_from_db()
        assert (run.state, run.best) == ("lost", best)
        assert "lost 2 times" in run.text
        assert "kept with the run" in run.text
        assert not Plan.objects.exists()

    def test_lost_without_a_plan_says_so(self, rows: Farm) -> None:
        run = self.silent(rows, attempt=2)
        runs.runs_recover(now=LATER)
        run.refresh_from_db()
        assert run.text.endswith(ending.LOST_BARE)

    def test_one_that_was_asked_to_stop_is_not_started_again(self, rows: Farm) -> None:
        best = scenes.solver(lambda *_: None)().write(scenes.half_plan())
        run = self.silent(rows, stop_asked=True, best=best, value=1.0)
        assert runs.runs_recover(now=LATER) == []
        run.refresh_from_db()
        assert (run.state, run.plan.visits.count()) == ("stopped", 1)

    def test_one_that_cannot_be_ended_does_not_keep_the_sweep_from_the_others(self, rows: Farm) -> None:
        broken = self.silent(rows, stop_asked=True, best={"no": "plan"}, value=1.0)
        other = self.silent(rows)
        assert runs.runs_recover(now=LATER) == [other]
        broken.refresh_from_db()
        assert broken.state == "failed"
        assert broken.error

    def test_a_queued_run_that_nobody_took_is_queued_again_now_and_then(self, rows: Farm) -> None:
        run = scenes.run(rows)
        Run.objects.update(asked_at=NOW)
        assert runs.runs_recover(now=NOW + timedelta(seconds=60)) == []
        assert runs.runs_recover(now=LATER) == [run]
        assert runs.runs_recover(now=LATER + timedelta(seconds=60)) == []
        assert runs.runs_recover(now=LATER + timedelta(seconds=61)) == [run]

    @pytest.mark.parametrize("state", ["done", "stopped", "infeasible", "failed", "lost"])
    def test_ended_runs_are_left_alone(self, rows: Farm, state: str) -> None:
        scenes.run(rows, state=state, beat_at=NOW)
        assert runs.runs_recover(now=LATER) == []

    @pytest.mark.django_db(transaction=True)
    def test_the_second_try_keeps_the_better_plan_of_the_first(self, rows: Farm, table: Callable[[Any], None]) -> None:
        good, half = scenes.good_plan(), scenes.half_plan()
        assert good.value < half.value
        write = scenes.solver(lambda *_: None)().write
        run = scenes.run(rows, attempt=1, best=write(good), value=good.value / 100)
        table(scenes.gives(scenes.result(half, "out of time")))
        runs.run_execute(run_id=run.pk, worker="w2")
        run.refresh_from_db()
        assert (run.attempt, run.value, run.plan.visits.count()) == (2, good.value / 100, 2)


class TestWatch:
    def step(self, value: float, plan: Any = None) -> solvers.Step:
        return solvers.Step(1.0, value, 100.0, plan)

    def watch(self, farm: Farm, **more: Any) -> Watch:
        run = scenes.run(farm, state="solving", attempt=1, **more)
        return Watch(run, lambda plan: {"plan": plan})

    def test_money_goes_from_cents_to_the_currency(self, rows: Farm) -> None:
        watch = self.watch(rows)
        watch.on_step(self.step(12_345, "p1"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.bound, watch.run.best) == (123.45, 1.0, {"plan": "p1"})

    def test_a_worse_plan_does_not_replace_a_better_one(self, rows: Farm) -> None:
        watch = self.watch(rows, best={"plan": "old"}, value=50.0)
        watch.on_step(self.step(6_000, "worse"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.best) == (50.0, {"plan": "old"})
        watch.on_step(self.step(4_000, "better"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.best) == (40.0, {"plan": "better"})

    def test_no_bound_yet_is_empty(self, rows: Farm) -> None:
        watch = self.watch(rows)
        watch.on_step(solvers.Step(1.0, float("inf"), float("-inf")))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.bound, watch.run.gap) == (None, None, None)

    def test_the_trace_notes_changes_only_and_stays_small(self, rows: Farm) -> None:
        watch = self.watch(rows)
        for number in range(5_000):
            watch.on_step(self.step(10_000 - number // 2))
        assert len(watch.trace) <= 1001
        assert watch.trace[0][1] == 100.0
        assert watch.trace[-1][1] == pytest.approx((10_000 - 4_999 // 2) / 100)

    def test_a_beat_without_news_moves_the_beat(self, rows: Farm) -> None:
        watch = self.watch(rows, beat_at=datetime(2026, 6, 10, tzinfo=NOW.tzinfo))
        watch.write()
        watch.run.refresh_from_db()
        assert watch.run.beat_at == NOW

    def test_a_run_in_other_hands_is_lost_and_untouched(self, rows: Farm) -> None:
        watch = self.watch(rows)
        Run.objects.update(state=RunState.QUEUED)
        watch.on_step(self.step(100, "mine"))
        watch.write()
        assert watch.lost
        assert watch.should_stop()
        assert Run.objects.get().best is None
