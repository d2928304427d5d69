"""Questions about a plan that take seconds: asked once for each plan, worked out by a worker, kept on the row.

Claim by conditional UPDATE, as with runs: two workers cannot both answer, and a worker that was given up writes nothing.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import F, Q, QuerySet

from planner.clock import now_utc
from planner.errors import PlannerError
from scheduling.choices import QUESTION_OPEN, QuestionKind, QuestionState
from scheduling.models import Plan, PlanQuestion
from scheduling.services.answers import Answer, answer_of
from scheduling.services.runs.create import planner_required

log = logging.getLogger(__name__)

TRIES = 2
BEAT_S = 2.0
LOST = "The worker was lost while it worked this out: ask again."


def question_ask(
    *, plan: Plan, kind: str, order: str, visit: int = 0, by: User | None, now: datetime | None = None
) -> tuple[PlanQuestion, bool]:
    """The plan's question, and whether it is to be queued (it is new, or failed before). Queuing is for scheduling.tasks.

    `by` is a planner of every site of the base, or None from a command. Raises PlannerError for a plan without its run's
    best plan, for an order the plan does not leave out ("ways in"), or a visit that it does not have ("moves").
    """
    planner_required(user=by, base=plan.base)
    _refuse_nonsense(plan, kind, order, visit)
    moment = now or now_utc()
    row, created = PlanQuestion.objects.get_or_create(
        plan=plan, kind=kind, order_number=order, visit=visit, defaults={"asked_by": by, "beat_at": moment}
    )
    if created:
        return row, True
    again = PlanQuestion.objects.filter(pk=row.pk, state=QuestionState.FAILED).update(
        state=QuestionState.QUEUED, attempt=0, tried=0, text="", answer={}, ended_at=None, beat_at=moment, asked_by=by
    )
    row.refresh_from_db()
    return row, bool(again)


def _refuse_nonsense(plan: Plan, kind: str, order: str, visit: int) -> None:
    if kind not in QuestionKind.values:
        raise PlannerError(f"kind is {kind!r}: give {' or '.join(QuestionKind.values)}.", field="kind")
    best = plan.run.best or {}
    if not best:
        raise PlannerError(f"Plan {plan.pk} has no solved plan behind it: solve a new one.", field="plan")
    if kind == QuestionKind.WAYS_IN and order not in best.get("left_out", ()):
        raise PlannerError(f"{order} is not among the orders that plan {plan.pk} leaves out.", field="order")
    jobs = ((job["order"], job["visit"]) for stay in best.get("visits", ()) for job in stay["jobs"])
    if kind == QuestionKind.MOVES and (order, visit) not in jobs:
        raise PlannerError(f"Plan {plan.pk} has no visit {visit + 1} of {order}.", field="order")


def question_execute(*, question_id: int, worker: str = "", now: datetime | None = None) -> None:
    """Answer a queued question and write it down; does nothing if it is somebody else's or has ended."""
    question = _claim(question_id, now or now_utc())
    if question is None:
        log.info("question %s is not to be taken by %s", question_id, worker)
        return
    beat = _Beat(question)
    try:
        answer = answer_of(question, on_progress=beat.on_progress, should_stop=beat.over)
    except Exception as error:
        log.exception("question %s failed", question_id)
        _end(question, QuestionState.FAILED, text=f"It could not be worked out ({type(error).__name__}): ask again.")
        return
    _end_answered(question, answer, beat.ran_out)


def _claim(question_id: int, moment: datetime) -> PlanQuestion | None:
    stale = Q(state=QuestionState.WORKING, attempt__lt=TRIES, beat_at__lt=moment - _lost_after())
    free = PlanQuestion.objects.filter(Q(pk=question_id) & (Q(state=QuestionState.QUEUED) | stale))
    seen = free.values_list("attempt", flat=True).first()
    if seen is None:
        return None
    taken = free.filter(attempt=seen).update(state=QuestionState.WORKING, attempt=F("attempt") + 1, beat_at=moment)
    return PlanQuestion.objects.select_related("plan__run", "plan__base").get(pk=question_id) if taken else None


class _Beat:
    """Writes how far the answer is, at most every BEAT_S, and says when the time is up."""

    def __init__(self, question: PlanQuestion, clock: Callable[[], float] = time.monotonic) -> None:
        self.question, self.clock = question, clock
        self.began = self.written = clock()
        self.ran_out = False

    def on_progress(self, tried: int, to_try: int) -> None:
        """Note it."""
        self._write(tried=tried, to_try=to_try)

    def over(self) -> bool:
        """Whether the time allowed is up; beats on the way."""
        self._write()
        self.ran_out = self.clock() - self.began > settings.QUESTION_LIMIT_S
        return self.ran_out

    def _write(self, **fields: int) -> None:
        if self.clock() - self.written >= BEAT_S:
            self.written = self.clock()
            _mine(self.question).update(beat_at=now_utc(), **fields)


def _mine(question: PlanQuestion) -> QuerySet[PlanQuestion]:
    return PlanQuestion.objects.filter(pk=question.pk, attempt=question.attempt, state=QuestionState.WORKING)


def _end_answered(question: PlanQuestion, answer: Answer, ran_out: bool) -> None:
    told = answer.text
    if ran_out:
        told += f" The time ran out after {settings.QUESTION_LIMIT_S} s: not everything was tried."
    _end(question, QuestionState.ANSWERED, text=told, answer=answer.data, tried=answer.tried, to_try=answer.tried)


def _end(question: PlanQuestion, state: str, **fields: Any) -> None:
    _mine(question).update(state=state, ended_at=now_utc(), **fields)


def questions_recover(*, now: datetime | None = None) -> list[PlanQuestion]:
    """Questions to queue again (the caller queues them): forgotten in the queue, or held by a worker that went silent.

    One that has had its tries fails. Each is given to one caller only, so two sweeps at once are harmless.
    """
    moment = now or now_utc()
    before = moment - _lost_after()
    silent = PlanQuestion.objects.filter(state__in=QUESTION_OPEN, beat_at__lt=before)
    silent.filter(state=QuestionState.WORKING, attempt__gte=TRIES).update(state=QuestionState.FAILED, ended_at=moment, text=LOST)
    return [row for row in silent.filter(state__in=QUESTION_OPEN) if _again(row, moment)]


def _again(row: PlanQuestion, moment: datetime) -> bool:
    held = PlanQuestion.objects.filter(pk=row.pk, state=row.state, attempt=row.attempt, beat_at=row.beat_at)
    return bool(held.update(state=QuestionState.QUEUED, beat_at=moment))


def _lost_after() -> timedelta:
    return timedelta(seconds=settings.RUN_LOST_AFTER_S)
