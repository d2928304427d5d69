"""Orders in the admin site: made and moved through the services, and what was refused is said."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import Model
from django.test import Client
from django.urls import reverse

from planner.cautions import CAUTION
from tests import page_rows
from tests.admin_forms import address, complaints, filled, said, send
from tests.admin_rows import staff
from tests.farm import TODAY, Farm
from workorders.models import Finding, Hold, Order, OrderMove, StepResult


def act(client: Client, model: type[Model], action: str, *rows: Any, note: str = "") -> list[str]:
    """Choose rows of the list and carry out an action; what was said."""
    listing = address(model, "changelist")
    client.get(listing)  # what was said before is read
    return said(client.post(listing, {"action": action, "_selected_action": [row.pk for row in rows], "note": note}))


@pytest.fixture
def order(farm: Farm) -> Order:
    """HILL-1 at H1, raised."""
    return page_rows.build_order(farm.h1, farm)


class TestMoves:
    """By actions of the list alone."""

    def test_a_move_goes_through_the_service(self, order: Order, planner_user: User) -> None:
        assert act(staff(planner_user), Order, "prepare", order) == ["1 now prepared."]
        order.refresh_from_db()
        assert order.state == "prepared"
        move = OrderMove.objects.get()
        assert (move.name, move.by) == ("prepare", planner_user)
        assert order.history.first().history_change_reason == "prepare"

    def test_each_refusal_is_said_with_its_order_and_the_rest_moves(self, farm: Farm, order: Order, planner_user: User) -> None:
        held = page_rows.build_order(farm.h2, farm, "HILL-2")
        Hold.objects.create(order=held, kind="parts", reason="no motor", since=TODAY)
        done = page_rows.build_order(farm.h3, farm, "HILL-3", state="accepted")
        assert act(staff(planner_user), Order, "prepare", order, held, done) == [
            "1 now prepared.",
            "HILL-2: A hold is open: clear it before you prepare the order.",
            "HILL-3: An order that is accepted cannot prepare: it must be raised.",
        ]
        assert list(Order.objects.order_by("number").values_list("state", flat=True)) == ["prepared", "raised", "accepted"]

    def test_a_note_that_a_move_asks_for(self, order: Order, planner_user: User) -> None:
        client = staff(planner_user)
        assert act(client, Order, "withdraw", order) == ["HILL-1: To withdraw an order, say why in a note."]
        assert act(client, Order, "withdraw", order, note="done by the maker") == ["1 now withdrawn."]
        assert OrderMove.objects.get().note == "done by the maker"

    def test_who_finished_does_not_accept(self, farm: Farm, planner_user: User, lead_user: User) -> None:
        order = page_rows.build_order(farm.h1, farm, state="under way")
        planner, lead = staff(planner_user), staff(lead_user)
        assert act(planner, Order, "finish", order) == ["1 now finished."]
        assert "Who finished an order does not accept it" in act(planner, Order, "accept", order)[0]
        assert act(lead, Order, "accept", order) == ["1 now accepted."]

    def test_many_refusals_are_counted(self, farm: Farm, planner_user: User) -> None:
        orders = [page_rows.build_order(farm.h1, farm, f"HILL-{n}", state="accepted") for n in range(23)]
        sentences = act(staff(planner_user), Order, "start", *orders)
        assert len(sentences) == 21
        assert sentences[-1] == "3 more were refused: choose fewer to see why."

    def test_moves_offered_are_those_of_the_role(self, order: Order, technician_user: User, viewer_user: User) -> None:
        def offered(user: User) -> set[str]:
            form = staff(user).get(address(Order, "changelist")).context["action_form"]
            return {name for name, _ in form.fields["action"].choices if name} if form else set()

        assert offered(technician_user) == {"start", "finish"}
        assert offered(viewer_user) == set()

    def test_a_stranger_moves_nothing(self, order: Order, stranger: User) -> None:
        act(staff(stranger), Order, "prepare", order)
        order.refresh_from_db()
        assert order.state == "raised"

    def test_a_planner_who_only_looks_there_is_refused(self, farm: Farm, order: Order, stranger: User) -> None:
        stranger.memberships.create(site=farm.hill, role="viewer")
        sentences = act(staff(stranger), Order, "prepare", order)
        assert sentences == ["HILL-1: A viewer may not prepare an order; ask a planner or lead."]

    def test_nothing_is_deleted(self, order: Order, planner_user: User) -> None:
        client = staff(planner_user)
        act(client, Order, "delete_selected", order)
        assert client.post(address(Order, "delete", order.pk), {"post": "yes"}).status_code == 403
        assert Order.objects.filter(pk=order.pk).exists()


class TestForm:
    """What may be typed of an order."""

    def good(self, farm: Farm, **changes: Any) -> dict[str, Any]:
        return {
            "turbine": farm.h1.pk,
            "procedure": farm.procedures["lamp"].pk,
            "due_on": "2026-07-01",
            "note": "flickers",
            **changes,
        }

    def test_a_new_one_is_raised_by_the_service(self, farm: Farm, planner_user: User) -> None:
        assert send(staff(planner_user), address(Order, "add"), **self.good(farm)).status_code == 302
        order = Order.objects.get()
        assert (order.origin, order.klass, order.state, order.effort_left_h) == ("hand", "minor", "raised", 2)
        assert order.number.startswith("HILL")
        assert order.history.get().history_user == planner_user

    @pytest.mark.parametrize(
        ("changes", "field", "sentence"),
        [
            ({"due_on": "2026-02-31"}, "due_on", "no day of the calendar"),
            ({"due_on": ""}, "due_on", "Give due on"),
            ({"opens_on": "2026-08-01"}, "opens_on", "lies after due_on 2026-07-01: give that day or before"),
            ({"closes_on": "2026-06-01"}, "closes_on", "closes_on lies before due_on"),
            ({"turbine": "H2", "component": "blade"}, "component", "another turbine than H2: choose one of it"),
            ({"turbine": "P1"}, "turbine", "no such turbine, or it is not for you: choose one you can see"),
        ],
    )
    def test_what_cannot_be_is_refused(
        self, changes: dict[str, str], field: str, sentence: str, farm: Farm, planner_user: User
    ) -> None:
        rows = {"H2": farm.h2.pk, "P1": farm.p1.pk, "blade": farm.blades[0].pk}
        data = self.good(farm, **{name: rows.get(value, value) for name, value in changes.items()})
        found = complaints(send(staff(planner_user), address(Order, "add"), **data))
        assert list(found) == [field]
        assert sentence in found[field][0]
        assert not Order.objects.exists()

    def test_not_at_a_site_where_one_only_looks(self, farm: Farm, planner_user: User) -> None:
        planner_user.memberships.create(site=farm.plain, role="viewer")
        found = complaints(send(staff(planner_user), address(Order, "add"), **self.good(farm, turbine=farm.p1.pk)))
        assert found == {"__all__": ["A viewer may not do this at Plainfield; ask a planner or lead."]}

    def test_the_state_is_not_typed(self, farm: Farm, order: Order, planner_user: User) -> None:
        client, where = staff(planner_user), address(Order, "change", order.pk)
        assert set(client.get(where).context["adminform"].form.fields) == {"opens_on", "due_on", "closes_on", "note"}
        data = filled(client, where, note="bring a ladder", state="accepted", effort_left_h="0", turbine=farm.p1.pk)
        assert client.post(where, data).status_code == 302
        order.refresh_from_db()
        assert (order.note, order.state, order.effort_left_h, order.turbine) == ("bring a ladder", "raised", 6, farm.h1)

    def test_dates_that_an_interval_set_stay(self, farm: Farm, planner_user: User) -> None:
        order = page_rows.build_order(farm.h1, farm, origin="due", interval=farm.intervals["lift-12"])
        client, where = staff(planner_user), address(Order, "change", order.pk)
        assert client.post(where, filled(client, where, due_on="2030-01-01", note="x")).status_code == 302
        order.refresh_from_db()
        assert (order.due_on, order.note) == (TODAY + timedelta(days=10), "x")

    def test_it_leads_to_its_page_and_carries_the_caution(self, order: Order, planner_user: User) -> None:
        client = staff(planner_user)
        page = reverse("order", args=[order.pk])
        for where in (address(Order, "changelist"), address(Order, "change", order.pk)):
            answer = client.get(where)
            assert page in answer.content.decode()
            assert CAUTION in page_rows.words_of(answer)


class TestAround:
    """Holds, findings and what else hangs on an order."""

    def test_a_hold_is_set_and_cleared_by_the_services(self, order: Order, planner_user: User) -> None:
        client = staff(planner_user)
        facts = {"order": order.pk, "kind": "parts", "reason": "motor on order", "expected_until": "2026-06-18"}
        assert send(client, address(Hold, "add"), **facts).status_code == 302
        hold = Hold.objects.get()
        assert (hold.since, hold.cleared_on) == (TODAY, None)
        assert act(client, Hold, "clear", hold) == ["1 cleared."]
        assert act(client, Hold, "clear", hold) == ["parts: motor on order: The hold is cleared already."]

    def test_a_hold_that_ends_before_it_starts_is_refused(self, order: Order, planner_user: User) -> None:
        facts = {"order": order.pk, "kind": "parts", "reason": "x", "since": "2026-06-09", "expected_until": "2026-06-08"}
        assert "lies before since" in complaints(send(staff(planner_user), address(Hold, "add"), **facts))["expected_until"][0]
        assert not Hold.objects.exists()

    def test_a_technician_sets_a_hold_and_clears_none(self, order: Order, technician_user: User) -> None:
        client = staff(technician_user)
        assert send(client, address(Hold, "add"), order=order.pk, kind="access", reason="mud").status_code == 302
        act(client, Hold, "clear", Hold.objects.get())
        assert Hold.objects.get().cleared_on is None

    def test_a_finding_is_recorded_and_raises_its_order_once(self, farm: Farm, order: Order, planner_user: User) -> None:
        client = staff(planner_user)
        facts = {"order": order.pk, "severity": "within days", "within_days": "14", "text": "loose bolt"}
        assert send(client, address(Finding, "add"), **facts, procedure=farm.procedures["lamp"].pk).status_code == 302
        finding = Finding.objects.get()
        assert finding.found_on == TODAY
        assert act(client, Finding, "raise_orders", finding) == ["1 raised as orders."]
        assert "has raised order" in act(client, Finding, "raise_orders", finding)[0]
        assert Order.objects.get(origin="finding").due_on == TODAY + timedelta(days=14)

    def test_a_finding_within_no_days_is_refused(self, order: Order, planner_user: User) -> None:
        facts = {"order": order.pk, "severity": "within days", "text": "loose bolt"}
        found = complaints(send(staff(planner_user), address(Finding, "add"), **facts))
        assert found == {"within_days": ["Severity 'within days' needs within_days of 1 or more."]}

    @pytest.mark.parametrize("model", [OrderMove, StepResult, Hold, Finding], ids=lambda one: one.__name__)
    def test_what_was_written_stays(self, model: type[Model], farm: Farm, planner_user: User) -> None:
        from tests.admin_rows import grow

        row = grow(farm, model, 1, 1)[0]
        client = staff(planner_user)
        assert client.post(address(model, "change", row.pk), {"text": "other"}).status_code == 403
        assert client.post(address(model, "delete", row.pk), {"post": "yes"}).status_code == 403

    def test_a_stranger_sees_none_of_it(self, farm: Farm, order: Order, stranger: User) -> None:
        Hold.objects.create(order=order, kind="parts", reason="no motor", since=TODAY)
        client = staff(stranger)
        for model in (Order, Hold):
            assert client.get(address(model, "changelist")).context["cl"].result_count == 0
        found = [complaints(send(client, address(Hold, "add"), order=pk, kind="parts", reason="x")) for pk in (order.pk, 999_999)]
        assert found[0] == found[1]
