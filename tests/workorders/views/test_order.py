"""The page of one order: every action, by who may, and its refusals."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from tests import farm as rows
from tests.farm import TODAY, Farm
from tests.page_rows import build_order, client_of, words_of
from workorders.models import Finding, Hold, Order, StepResult


@pytest.fixture
def order(farm: Farm) -> Order:
    """A service of H1, prepared."""
    return build_order(farm.h1, farm, state="prepared")


def post(user: User, order: Order, **form: Any) -> Any:
    return client_of(user).post(f"/orders/{order.pk}/", form, follow=True)


def test_the_page_tells_what_is_known(order: Order, viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get(f"/orders/{order.pk}/"))
    for told in ("Order HILL-1", "◫ prepared", "H1, Hillside", "Sat 20 Jun 2026", "6 h 00 min", "at least 1.5 and at most 3 bar"):
        assert told in words
    assert "Your role has no move to make" in words


def test_strangers_get_the_same_404_as_for_none(order: Order, stranger: User) -> None:
    client = client_of(stranger)
    answers = [client.get(f"/orders/{pk}/") for pk in (order.pk, 999_999)]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert client.post(f"/orders/{order.pk}/", {"do": "move", "name": "start"}).status_code == 404
    order.refresh_from_db()
    assert order.state == "prepared"


def test_an_id_beyond_the_database_is_a_404(viewer_user: User) -> None:
    assert client_of(viewer_user).get(f"/orders/{10**30}/").status_code == 404


def test_text_that_is_no_text_is_refused(order: Order, planner_user: User) -> None:
    response = post(planner_user, order, do="move", name="withdraw", note="a\x00b")
    assert response.status_code == 400
    assert "write it again" in words_of(response)


def test_from_start_to_acceptance_by_two_people(order: Order, technician_user: User, lead_user: User) -> None:
    assert "Order HILL-1 is under way now." in words_of(post(technician_user, order, do="move", name="start", seen="prepared"))
    assert "is finished now" in words_of(post(technician_user, order, do="move", name="finish", done_on="2026-06-09"))
    words = words_of(post(lead_user, order, do="move", name="accept"))
    assert "✓ accepted" in words
    for told in ("technician: prepared to under way", "technician: under way to finished", "lead: finished to accepted"):
        assert told in words


def test_who_finished_does_not_accept(order: Order, lead_user: User) -> None:
    post(lead_user, order, do="move", name="start")
    post(lead_user, order, do="move", name="finish")
    response = post(lead_user, order, do="move", name="accept")
    assert response.status_code == 403
    assert "Who finished an order does not accept it" in words_of(response)


def test_a_move_made_by_somebody_faster_is_said(order: Order, technician_user: User) -> None:
    response = post(technician_user, order, do="move", name="start", seen="raised")
    assert response.status_code == 409
    assert "HILL-1 is prepared by now, not raised" in words_of(response)
    order.refresh_from_db()
    assert order.state == "prepared"


def test_a_viewer_moves_nothing(order: Order, viewer_user: User) -> None:
    response = post(viewer_user, order, do="move", name="start")
    assert response.status_code == 403
    order.refresh_from_db()
    assert order.state == "prepared"


def test_a_note_that_is_asked_for_must_come(order: Order, planner_user: User) -> None:
    assert "say why in a note" in words_of(post(planner_user, order, do="move", name="withdraw"))
    assert "prepared to withdrawn: sold" in words_of(post(planner_user, order, do="move", name="withdraw", note="sold"))


def test_an_unknown_move_is_a_sentence(order: Order, planner_user: User) -> None:
    response = post(planner_user, order, do="move", name="fly")
    assert response.status_code == 400
    assert "'fly' is no move of an order" in words_of(response)


def test_a_hold_is_set_and_cleared(order: Order, planner_user: User) -> None:
    words = words_of(post(planner_user, order, do="hold", kind="parts", reason="motor", expected_until="2026-06-18"))
    assert "parts: motor since Wed 10 Jun 2026, expected until Thu 18 Jun 2026" in words
    hold = Hold.objects.get()
    assert "cleared Wed 10 Jun 2026" in words_of(post(planner_user, order, do="clear", hold=hold.pk))


def test_a_hold_without_reason_is_refused_and_its_form_stays_open(order: Order, planner_user: User) -> None:
    response = post(planner_user, order, do="hold", kind="parts", reason=" ")
    assert response.status_code == 400
    assert "Reason is empty: fill it in." in words_of(response)
    assert '<details class="no-print" open><summary>Set a hold' in response.content.decode()
    assert not Hold.objects.exists()


def test_a_hold_of_another_order_cannot_be_cleared_here(order: Order, farm: Farm, planner_user: User) -> None:
    other = Hold.objects.create(order=build_order(farm.h2, farm, "HILL-2"), kind="parts", reason="x", since=TODAY)
    assert "That hold is not of this order" in words_of(post(planner_user, order, do="clear", hold=other.pk))
    other.refresh_from_db()
    assert other.cleared_on is None


def test_readings_are_taken_and_judged(order: Order, technician_user: User) -> None:
    post(technician_user, order, do="move", name="start")
    tick, reading = order.procedure.steps.all()[:2]
    assert "ticked" in words_of(post(technician_user, order, do="step", step=tick.pk))
    words = words_of(post(technician_user, order, do="step", step=reading.pk, value="3.4"))
    assert "3.4 bar outside its band technician, Wed 10 Jun 2026, 08:00 CEST" in words


@pytest.mark.parametrize(("value", "said"), [("2,5", "write it with a point"), ("nan", "is no number"), ("", "is no number")])
def test_a_bad_reading_is_a_sentence(value: str, said: str, order: Order, technician_user: User) -> None:
    post(technician_user, order, do="move", name="start")
    step = order.procedure.steps.get(kind="reading")
    response = post(technician_user, order, do="step", step=step.pk, value=value)
    assert response.status_code == 400
    assert said in words_of(response)
    assert not StepResult.objects.exists()


def test_a_finding_raises_one_order(order: Order, farm: Farm, planner_user: User) -> None:
    post(planner_user, order, do="finding", severity="at next service", text="loose bolt")
    finding = Finding.objects.get()
    Finding.objects.update(procedure=farm.procedures["lamp"])
    post(planner_user, order, do="follow", finding=finding.pk)
    assert Order.objects.filter(origin="finding").count() == 1
    assert post(planner_user, order, do="follow", finding=finding.pk).status_code >= 400
    assert Order.objects.filter(origin="finding").count() == 1


def test_within_days_needs_its_days(order: Order, planner_user: User) -> None:
    response = post(planner_user, order, do="finding", severity="within days", text="oil film")
    assert response.status_code == 400
    assert not Finding.objects.exists()
    assert ">oil film</textarea>" in response.content.decode()


@pytest.mark.parametrize(
    ("role", "holds", "records"), [("planner", True, True), ("technician", True, True), ("viewer", False, False)]
)
def test_forms_are_offered_to_those_who_may(role: str, holds: bool, records: bool, order: Order, farm: Farm) -> None:
    words = words_of(client_of(rows.build_user(role, role, farm.hill)).get(f"/orders/{order.pk}/"))
    assert ("Set a hold" in words, "Record a finding" in words) == (holds, records)
