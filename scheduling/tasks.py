"""What workers do for plans. Every task: id in, one service call, the outcome on the row; safe to run twice."""

from __future__ import annotations

from datetime import date
from typing import Any

from celery import Task, group, shared_task
from django.contrib.auth.models import User
from django.db import transaction

from planner.models import Base
from scheduling.choices import SeriesKind
from scheduling.models import Fleet, Plan, PlanQuestion, Run, WeatherSet, WhatIf
from scheduling.services import fleets, questions, runs, stay_calls, what_ifs
from scheduling.services.repairs import repair_create
from scheduling.services.weather import WeatherImport, weather_import


def run_ask(
    *,
    base: Base,
    kind: str,
    first_day: date,
    days: int,
    by: User | None,
    seed: int = 1,
    params: dict[str, Any] | None = None,
    **more: Any,
) -> Run:
    """Create a run and queue it once it is committed; pages, API and commands call this. See services.runs.run_create."""
    run = runs.run_create(base=base, kind=kind, first_day=first_day, days=days, by=by, seed=seed, params=params, **more)
    run_queue(run)
    return run


def what_if_ask(*, what_if: WhatIf, by: User | None, seed: int = 1, params: dict[str, Any] | None = None) -> Run:
    """Create a run of a what-if and queue it once it is committed. See services.what_ifs.what_if_solve."""
    run = what_ifs.what_if_solve(what_if=what_if, by=by, seed=seed, params=params)
    run_queue(run)
    return run


def repair_ask(*, base: Base, by: User | None, **more: Any) -> Run:
    """Ask for the published plan to be mended and queue that; pages, API and commands call this. See services.repairs."""
    run = repair_create(base=base, by=by, **more)
    run_queue(run)
    return run


def fleet_ask(*, by: User | None, **asked: Any) -> Fleet:
    """Begin a fleet and queue it once it is committed; pages, API and commands call this. See services.fleets.fleet_create."""
    fleet = fleets.fleet_create(by=by, **asked)
    fleet_queue(fleet)
    return fleet


def fleet_queue(fleet: Fleet) -> None:
    """Queue every part that waits for no other, as one group, when the transaction around it commits."""
    first = list(Run.objects.filter(fleet=fleet, follows=None).order_by("pk").values_list("pk", flat=True))
    transaction.on_commit(lambda: group(run_solve.si(pk) for pk in first).delay(), robust=True)


def run_queue(run: Run) -> None:
    """Queue a run when the transaction around it commits. A queue that is away leaves it queued; runs_recover tries again."""
    run_id = run.pk
    transaction.on_commit(lambda: run_solve.delay(run_id), robust=True)


@shared_task(bind=True)
def run_solve(self: Task, run_id: int) -> None:
    """Carry out one run, then see to what waited for its end."""
    runs.run_execute(run_id=run_id, worker=self.request.hostname or "this process")
    for run in fleets.fleet_go_on(run_id=run_id):
        run_queue(run)


@shared_task
def runs_recover() -> None:
    """Queue again what lost its worker, and close fleets whose last part nobody saw end."""
    for run in runs.runs_recover():
        run_queue(run)
    fleets.fleets_recover()


def question_ask(*, plan: Plan, kind: str, order: str, visit: int = 0, by: User | None) -> PlanQuestion:
    """Ask about a plan and queue the question, unless it is answered or under way. See services.questions.question_ask."""
    question, to_queue = questions.question_ask(plan=plan, kind=kind, order=order, visit=visit, by=by)
    if to_queue:
        question_queue(question)
    return question


def question_queue(question: PlanQuestion) -> None:
    """Queue a question when the transaction around it commits; a lost message is made good by questions_recover."""
    question_id = question.pk
    transaction.on_commit(lambda: question_answer.delay(question_id), robust=True)


@shared_task(bind=True)
def question_answer(self: Task, question_id: int) -> None:
    """Work out one question."""
    questions.question_execute(question_id=question_id, worker=self.request.hostname or "this process")


@shared_task
def questions_recover() -> None:
    """Queue again what lost its worker or its message."""
    for question in questions.questions_recover():
        question_queue(question)


def weather_bring(**asked: Any) -> WeatherImport:
    """Take a file in and queue what follows from it; pages, API and commands call this. See services.weather.weather_import."""
    done = weather_import(**asked)
    if done.created:
        weather_queue(done.weather_set)
    return done


def weather_queue(weather_set: WeatherSet) -> None:
    """Queue what follows from weather that was stored, once it is committed; a lost message is made good by stay_calls_sweep.

    From past years nothing follows for a stay.
    """
    if weather_set.kind == SeriesKind.PAST:
        return
    weather_set_id = weather_set.pk
    transaction.on_commit(lambda: weather_arrived.delay(weather_set_id), robust=True)


@shared_task
def weather_arrived(weather_set_id: int) -> None:
    """A forecast calls the stays to come, a measurement scores those that were."""
    stay_calls.weather_take(weather_set_id=weather_set_id)


@shared_task
def stay_calls_sweep() -> None:
    """Calls and outcomes that a lost message left undone."""
    stay_calls.calls_catch_up()
