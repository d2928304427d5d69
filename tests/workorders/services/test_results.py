"""Steps are answered in kind."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Step
from tests.farm import NOW, TODAY, Farm
from workorders.models import Order, StepResult
from workorders.services.orders import order_raise_by_hand
from workorders.services.results import step_result_record

TICK, READING, TEXT, PHOTO = 1, 2, 3, 4


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["service"], due_on=TODAY, by=planner_user)
    Order.objects.update(state="under way")
    order.refresh_from_db()
    return order


def answer(order: Order, number: int, by: User, **given: Any) -> StepResult:
    return step_result_record(order=order, step=Step.objects.get(procedure=order.procedure, number=number), by=by, **given)


def test_each_kind(order: Order, technician_user: User) -> None:
    answer(order, TICK, technician_user)
    answer(order, READING, technician_user, value=2.5)
    answer(order, TEXT, technician_user, text=" rust ")
    answer(order, PHOTO, technician_user, text="yaw.jpg")
    rows = [(row.step.number, row.value, row.text, row.by, row.at) for row in order.results.all()]
    assert rows == [
        (1, None, "", technician_user, NOW),
        (2, 2.5, "", technician_user, NOW),
        (3, None, "rust", technician_user, NOW),
        (4, None, "yaw.jpg", technician_user, NOW),
    ]


def test_a_value_outside_its_band_is_kept_as_it_was_read(order: Order, technician_user: User) -> None:
    assert answer(order, READING, technician_user, value=0.0).value == 0.0


def test_given_again_it_replaces_and_the_first_stays_in_history(order: Order, technician_user: User, lead_user: User) -> None:
    answer(order, READING, technician_user, value=2.5)
    again = answer(order, READING, lead_user, value=2.6)
    assert StepResult.objects.get() == again
    assert [(row.value, row.history_user) for row in again.history.all()] == [(2.6, lead_user), (2.5, technician_user)]


@pytest.mark.parametrize(
    ("number", "given", "field", "words"),
    [
        (READING, {}, "value", "Step 2 is a reading: give value in bar"),
        (READING, {"value": float("nan")}, "value", "nan is no number: give the reading in bar"),
        (READING, {"value": float("inf")}, "value", "inf is no number"),
        (READING, {"value": True}, "value", "True is no number"),
        (TICK, {"value": 1.0}, "value", "asks for a tick, not for a value"),
        (TEXT, {"text": "  "}, "text", "asks for a text: give text"),
        (PHOTO, {}, "text", "asks for a photo: give text"),
    ],
)
def test_an_answer_of_the_wrong_kind(
    order: Order, planner_user: User, number: int, given: dict[str, Any], field: str, words: str
) -> None:
    with pytest.raises(PlannerError, match=words) as refusal:
        answer(order, number, planner_user, **given)
    assert refusal.value.field == field
    assert not StepResult.objects.exists()


def test_a_step_of_another_procedure(farm: Farm, order: Order, planner_user: User) -> None:
    other = Step.objects.create(procedure=farm.procedures["lamp"], number=1, kind="tick", text="Lamp shines")
    with pytest.raises(PlannerError, match="another procedure than Yearly service") as refusal:
        step_result_record(order=order, step=other, by=planner_user)
    assert refusal.value.field == "step"


@pytest.mark.parametrize("state", ["raised", "prepared", "slotted", "accepted", "withdrawn"])
def test_only_under_way_and_until_accepted(order: Order, planner_user: User, state: str) -> None:
    Order.objects.update(state=state)
    with pytest.raises(ConflictError, match=f"is {state}: steps are answered once it is under way"):
        answer(order, TICK, planner_user)
    Order.objects.update(state="finished")
    assert answer(order, TICK, planner_user).pk


def test_viewers_and_strangers_do_not_answer(order: Order, viewer_user: User, stranger: User) -> None:
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            answer(order, TICK, user)
