"""What is queued, when, and that tasks stay thin."""

from __future__ import annotations

import inspect
from datetime import timedelta
from typing import Any

import pytest
from celery import current_app
from django.db import transaction

from planner.errors import ConflictError
from scheduling import tasks
from scheduling.builders import fortnight as builder
from scheduling.models import Run
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Run ids that went to the queue."""
    queue: list[int] = []
    monkeypatch.setattr(tasks.run_solve, "delay", queue.append)
    monkeypatch.setattr(builder, "fortnight_problem", lambda **_: scenes.problem())
    return queue


def ask(farm: Farm) -> Run:
    return tasks.run_ask(base=farm.north, kind="fortnight", first_day=scenes.FIRST, days=2, by=None, now=NOW)


@pytest.mark.django_db(transaction=True)
class TestOnCommit:
    def test_a_rollback_queues_nothing(self, farm: Farm, sent: list[int]) -> None:
        class Broken(Exception):
            pass

        def ask_and_break() -> None:
            with transaction.atomic():
                ask(farm)
                raise Broken

        with pytest.raises(Broken):
            ask_and_break()
        assert (sent, Run.objects.count()) == ([], 0)

    def test_nothing_is_queued_before_the_commit(self, farm: Farm, sent: list[int]) -> None:
        with transaction.atomic():
            run = ask(farm)
            assert sent == []
        assert sent == [run.pk]

    def test_without_a_transaction_around_it_it_is_queued_at_once(self, farm: Farm, sent: list[int]) -> None:
        run = ask(farm)
        assert sent == [run.pk]

    def test_a_refused_run_is_not_queued(self, farm: Farm, sent: list[int]) -> None:
        first = ask(farm)
        with pytest.raises(ConflictError):
            ask(farm)
        assert sent == [first.pk]

    def test_a_queue_that_is_away_leaves_the_run_queued(
        self, farm: Farm, sent: list[int], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The user gets the run; the sweep sends it once the queue is back."""

        def away(run_id: int) -> None:
            raise ConnectionError("no queue")

        with monkeypatch.context() as broken:
            broken.setattr(tasks.run_solve, "delay", away)
            run = ask(farm)
        assert run.state == "queued"
        Run.objects.update(asked_at=NOW - timedelta(seconds=61))
        tasks.runs_recover()
        assert sent == [run.pk]


@pytest.mark.django_db(transaction=True)
def test_the_sweep_queues_what_lost_its_worker(farm: Farm, sent: list[int]) -> None:
    silent = scenes.run(farm, state="solving", attempt=1, beat_at=NOW - timedelta(seconds=61))
    scenes.run(farm, kind="year", state="solving", attempt=1, beat_at=NOW - timedelta(seconds=60))
    tasks.runs_recover()
    assert sent == [silent.pk]


def test_tasks_are_thin() -> None:
    """15 lines at most, body and head."""
    bodies: list[Any] = [tasks.run_solve, tasks.runs_recover]
    for task in bodies:
        assert len(inspect.getsource(task.run).splitlines()) <= 15


def test_names_on_the_queue_stay(settings: Any) -> None:
    """A renamed task would leave its messages without anybody to carry them."""
    assert {"scheduling.tasks.run_solve", "scheduling.tasks.runs_recover"} <= set(current_app.tasks)
    assert settings.CELERY_BEAT_SCHEDULE["take up lost runs"]["task"] in current_app.tasks
