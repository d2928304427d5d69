"""A run is asked for, claimed, stopped, and found again when its worker is lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from scheduling import solvers
from scheduling.builders import fortnight as builder
from scheduling.builders import round as year_builder
from scheduling.models import Plan, Run
from scheduling.services import runs
from scheduling.services.runs import ending
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes

LATER = NOW + timedelta(seconds=61)


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
            ({"params": {"start": "yesterday"}}, "params"),
            ({"params": {"start": 1}}, "params"),
            ({"params": {"start": "published"}, "kind": "year", "days": 364}, "params"),
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
        other = self.silent(rows, kind="year")
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
