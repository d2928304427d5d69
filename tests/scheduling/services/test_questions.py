"""Questions about plans: asked once, answered by one worker, taken up again when lost."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import NotAllowedError, PlannerError
from scheduling import tasks
from scheduling.models import Plan, PlanQuestion
from scheduling.selectors.questions import comparison_json, plans_compared
from scheduling.services import questions
from scheduling.services.questions import question_ask, question_execute, questions_recover
from tests.farm import NOW, Farm
from tests.scheduling.api.scenes import drafted


@pytest.fixture
def plan(farm: Farm) -> Plan:
    """A draft that holds W-1 and leaves W-2 out, although there is room for it."""
    return drafted(farm)


def ask(plan: Plan, kind: str = "ways in", order: str = "W-2", **more: Any) -> PlanQuestion:
    return question_ask(plan=plan, kind=kind, order=order, by=None, now=NOW, **more)[0]


class TestAsking:
    def test_a_plan_keeps_each_question_once(self, plan: Plan) -> None:
        first, queued = question_ask(plan=plan, kind="ways in", order="W-2", by=None, now=NOW)
        again, queued_again = question_ask(plan=plan, kind="ways in", order="W-2", by=None, now=NOW)
        assert (queued, queued_again) == (True, False)
        assert first == again
        assert PlanQuestion.objects.count() == 1

    @pytest.mark.parametrize(
        ("kind", "order", "visit", "said"),
        [
            ("ways in", "W-1", 0, "W-1 is not among the orders that plan"),
            ("ways in", "W-9", 0, "W-9 is not among"),
            ("moves", "W-2", 0, "has no visit 1 of W-2"),
            ("moves", "W-1", 4, "has no visit 5 of W-1"),
            ("weather", "W-1", 0, "kind is 'weather'"),
        ],
    )
    def test_what_makes_no_sense_is_refused(self, plan: Plan, kind: str, order: str, visit: int, said: str) -> None:
        with pytest.raises(PlannerError, match=said):
            ask(plan, kind, order, visit=visit)
        assert not PlanQuestion.objects.exists()

    def test_a_plan_without_its_solution_has_no_answers(self, plan: Plan) -> None:
        plan.run.best = None
        plan.run.save(update_fields=["best"])
        with pytest.raises(PlannerError, match="has no solved plan behind it"):
            ask(plan)

    def test_only_planners_of_every_site_ask(self, plan: Plan, viewer_user: User, planner_user: User) -> None:
        with pytest.raises(NotAllowedError):
            question_ask(plan=plan, kind="ways in", order="W-2", by=viewer_user)
        assert question_ask(plan=plan, kind="ways in", order="W-2", by=planner_user)[0].asked_by == planner_user


class TestAnswering:
    def test_what_would_let_an_order_in(self, plan: Plan) -> None:
        question = ask(plan)
        question_execute(question_id=question.pk, worker="here")
        question.refresh_from_db()
        assert question.state == "answered", question.text
        # There was room: the plan by hand left it out for nothing.
        assert question.answer["ways"][0]["kind"] == "exchange"
        assert question.answer["ways"][0]["cost"] < 0
        assert question.text.startswith("A better plan was found with it.")
        assert question.answer["currency"] == "EUR"

    def test_where_else_a_visit_could_stand(self, plan: Plan) -> None:
        question = ask(plan, "moves", "W-1")
        question_execute(question_id=question.pk)
        question.refresh_from_db()
        assert question.state == "answered", question.text
        (move,) = question.answer["moves"]
        assert (move["date"], move["possible"]) == ("2026-06-11", True)
        assert question.answer["here"].startswith("Wed 10 Jun, 08:30: 100 % chance")

    def test_one_worker_answers(self, plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
        asked: list[int] = []

        def twice(question: PlanQuestion, **_: Any) -> Any:
            asked.append(question.pk)
            question_execute(question_id=question.pk)  # a second message while the first is under way
            return questions.Answer("told", {}, 1)

        monkeypatch.setattr(questions, "answer_of", twice)
        question = ask(plan)
        question_execute(question_id=question.pk)
        question_execute(question_id=question.pk)
        question.refresh_from_db()
        assert (len(asked), question.state, question.text) == (1, "answered", "told")

    def test_a_defect_ends_as_failed_and_may_be_asked_again(self, plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
        def broken(question: PlanQuestion, **_: Any) -> Any:
            raise RuntimeError("secret detail")

        monkeypatch.setattr(questions, "answer_of", broken)
        question = ask(plan)
        question_execute(question_id=question.pk)
        question.refresh_from_db()
        assert (question.state, "secret" in question.text) == ("failed", False)
        again, queued = question_ask(plan=plan, kind="ways in", order="W-2", by=None, now=NOW)
        assert (again.pk, again.state, queued) == (question.pk, "queued", True)

    def test_out_of_time_says_so(self, plan: Plan, monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
        settings.QUESTION_LIMIT_S = -1
        question = ask(plan)
        question_execute(question_id=question.pk)
        question.refresh_from_db()
        assert question.text.endswith("not everything was tried.")

    def test_a_worker_that_was_given_up_writes_nothing(self, plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
        def overtaken(question: PlanQuestion, **_: Any) -> Any:
            PlanQuestion.objects.filter(pk=question.pk).update(attempt=2)
            return questions.Answer("too late", {}, 1)

        monkeypatch.setattr(questions, "answer_of", overtaken)
        question = ask(plan)
        question_execute(question_id=question.pk)
        question.refresh_from_db()
        assert (question.state, question.text) == ("working", "")


class TestRecovering:
    LATER = NOW + timedelta(hours=1)

    def test_forgotten_and_lost_ones_are_queued_again_by_one_sweep(self, plan: Plan) -> None:
        question = ask(plan)
        assert questions_recover(now=NOW) == []
        assert questions_recover(now=self.LATER) == [question]
        assert questions_recover(now=self.LATER) == []
        PlanQuestion.objects.update(state="working", attempt=1, beat_at=NOW)
        assert questions_recover(now=self.LATER) == [question]

    def test_after_its_tries_it_fails(self, plan: Plan) -> None:
        question = ask(plan)
        PlanQuestion.objects.update(state="working", attempt=questions.TRIES, beat_at=NOW)
        assert questions_recover(now=self.LATER) == []
        question.refresh_from_db()
        assert (question.state, question.text) == ("failed", questions.LOST)


@pytest.mark.django_db(transaction=True)
def test_asking_queues_once(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[int] = []
    monkeypatch.setattr(tasks.question_answer, "delay", sent.append)
    plan = drafted(farm)
    question = tasks.question_ask(plan=plan, kind="ways in", order="W-2", by=None)
    tasks.question_ask(plan=plan, kind="ways in", order="W-2", by=None)
    assert sent == [question.pk]


def test_two_plans_of_a_base_and_of_two(plan: Plan) -> None:
    told = comparison_json(plans_compared(before=plan, after=plan))
    assert (told["changes"], told["cost"], told["problem"]) == ([], 0.0, [])
    other = Plan.objects.get(pk=plan.pk)
    other.base_id = plan.base_id + 1
    with pytest.raises(PlannerError, match="are of two bases"):
        plans_compared(before=plan, after=other)
