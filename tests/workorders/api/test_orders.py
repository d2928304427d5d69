"""Orders over the API: raised, moved, held, answered; by the right people, at their sites."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import WorkDone
from tests.api_helpers import API, assert_error, assert_recorded, client_of, ids_of, queries_of, rows_of
from tests.farm import TODAY, Farm, build_user
from workorders.models import Order, OrderMove
from workorders.services.orders import order_raise_by_hand

ORDERS = f"{API}orders/"


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    """A yearly service of H1, by hand."""
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["service"], due_on="2026-06-20", by=planner_user)


def here(order: Order, action: str = "") -> str:
    return f"{ORDERS}{order.pk}/{action}"


def move(user: User, order: Order, name: str, **more: Any) -> Any:
    return client_of(user).post(here(order, "moves/"), {"name": name, **more})


def test_an_order_by_hand(farm: Farm, planner_user: User) -> None:
    body = {"turbine": farm.h1.pk, "procedure": farm.procedures["lamp"].pk, "due_on": "2026-07-01", "note": "stairs"}
    made = client_of(planner_user).post(ORDERS, body)
    assert made.status_code == 201, made.content
    row = made.json()
    assert (row["number"], row["state"], row["origin"], row["klass"]) == ("HILL-26-0001", "raised", "hand", "minor")
    assert row["effort_left_h"] == 2
    assert row["moves"] == ["prepare", "slot", "withdraw"]
    assert "competent person" in row["caution"]
    read = client_of(planner_user).get(made["Location"])
    assert read.json() == row
    assert read["ETag"] == made["ETag"]


def test_an_order_refuses_what_does_not_fit(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    good = {"turbine": farm.h1.pk, "procedure": farm.procedures["lamp"].pk, "due_on": "2026-07-01"}
    for bad, field in (
        ({"turbine": farm.p1.pk}, "turbine"),
        ({"turbine": 0}, "turbine"),
        ({"due_on": "2026-02-31"}, "due_on"),
        ({"due_on": "9999-12-31"}, "due_on"),
        ({"due_on": None}, "due_on"),
        ({"opens_on": "2026-07-02"}, "opens_on"),
        ({"closes_on": "2026-06-02"}, None),
        ({"klass": "urgent"}, "klass"),
        ({"state": "accepted"}, "state"),
    ):
        assert_error(client.post(ORDERS, {**good, **bad}), 400, field)
    part = farm.blades[0].pk
    assert_error(client.post(ORDERS, {**good, "turbine": farm.h2.pk, "component": part}), 400, "component")
    assert not Order.objects.exists()


def test_due_work_is_raised_once(farm: Farm, lead_user: User) -> None:
    client = client_of(lead_user)
    first = client.post(f"{ORDERS}raise-from-due/", {"site": farm.hill.pk})
    assert first.status_code == 200, first.content
    raised = first.json()["raised"]
    assert raised
    assert {row["origin"] for row in raised} == {"due"}
    again = client.post(f"{ORDERS}raise-from-due/", {"site": farm.hill.pk}).json()
    assert again["raised"] == []
    assert again["already"] == len(raised)
    assert_error(client.post(f"{ORDERS}raise-from-due/", {"site": farm.plain.pk}), 400, "site")
    assert_error(client.post(f"{ORDERS}raise-from-due/", {"site": farm.hill.pk, "horizon_days": -1}), 400, "horizon_days")


def test_an_order_from_raised_to_accepted(
    farm: Farm, planner_user: User, lead_user: User, technician_user: User, order: Order
) -> None:
    Order.objects.filter(pk=order.pk).update(interval=farm.intervals["svc-12"])
    assert move(lead_user, order, "prepare").json()["state"] == "prepared"
    assert move(technician_user, order, "start").json()["state"] == "under way"
    step = farm.procedures["service"].steps.get(number=2)
    answered = client_of(technician_user).post(here(order, "results/"), {"step": step.pk, "value": 2.1})
    assert answered.status_code == 201, answered.content
    assert answered.json()["by"] == "technician"
    assert move(technician_user, order, "finish", done_on="2026-06-09").json()["done_on"] == "2026-06-09"
    assert_error(move(technician_user, order, "accept"), 403)
    assert move(lead_user, order, "accept").json()["state"] == "accepted"
    story = rows_of(client_of(technician_user).get(here(order, "moves/")))
    assert [(row["name"], row["by"]) for row in story] == [
        ("prepare", "lead"), ("start", "technician"), ("finish", "technician"), ("accept", "lead"),
    ]  # fmt: skip
    assert WorkDone.objects.filter(interval=farm.intervals["svc-12"], done_on="2026-06-09").exists()


def test_moves_that_are_not_allowed(
    farm: Farm, planner_user: User, technician_user: User, viewer_user: User, order: Order
) -> None:
    assert_error(move(planner_user, order, "fly"), 400, "name")
    assert_error(move(planner_user, order, "finish"), 409)
    assert_error(move(planner_user, order, "withdraw"), 400, "note")
    assert_error(move(planner_user, order, "prepare", done_on="2026-06-09"), 400, "done_on")
    assert_error(move(planner_user, order, "prepare", colour="red"), 400, "colour")
    assert_error(move(technician_user, order, "prepare"), 403)
    assert_error(move(viewer_user, order, "prepare"), 403)
    assert not OrderMove.objects.exists()


def test_a_move_on_an_older_reading_is_refused(farm: Farm, planner_user: User, order: Order) -> None:
    client = client_of(planner_user)
    tag = client.get(here(order))["ETag"]
    moved = client.post(here(order, "moves/"), {"name": "prepare"}, HTTP_IF_MATCH=tag)
    assert moved.status_code == 200, moved.content
    assert_error(client.post(here(order, "moves/"), {"name": "slot"}, HTTP_IF_MATCH=tag), 412)
    assert client.post(here(order, "moves/"), {"name": "slot"}, HTTP_IF_MATCH=moved["ETag"]).status_code == 200


def test_a_move_sent_twice_moves_once(farm: Farm, planner_user: User, order: Order) -> None:
    client = client_of(planner_user)
    answers = [client.post(here(order, "moves/"), {"name": "prepare"}, HTTP_IDEMPOTENCY_KEY="phone-7") for _ in range(2)]
    assert [answer.json()["state"] for answer in answers] == ["prepared", "prepared"]
    assert OrderMove.objects.count() == 1


def test_holds_stop_preparation_until_cleared(farm: Farm, planner_user: User, technician_user: User, order: Order) -> None:
    made = client_of(technician_user).post(here(order, "holds/"), {"kind": "parts", "reason": "no filter"})
    assert made.status_code == 201, made.content
    assert_error(move(planner_user, order, "prepare"), 409)
    assert [hold["reason"] for hold in client_of(planner_user).get(here(order)).json()["open_holds"]] == ["no filter"]
    clear = f"{made['Location']}clear/"
    assert_error(client_of(technician_user).post(clear, {}), 403)
    assert_error(client_of(planner_user).post(clear, {"on": "2026-06-01"}), 400, "on")
    assert client_of(planner_user).post(clear, {}).json()["cleared_on"] == "2026-06-10"
    assert_error(client_of(planner_user).post(clear, {}), 409)
    assert move(planner_user, order, "prepare").status_code == 200
    assert rows_of(client_of(planner_user).get(f"{API}holds/", {"cleared_on__isnull": "true"})) == []
    bad = {"kind": "mood", "reason": "x"}
    assert_error(client_of(planner_user).post(here(order, "holds/"), bad), 400, "kind")
    late = {"kind": "parts", "reason": "x", "since": "2026-06-10", "expected_until": "2026-06-01"}
    assert_error(client_of(planner_user).post(here(order, "holds/"), late), 400)


def test_a_finding_raises_its_order_once(farm: Farm, planner_user: User, technician_user: User, order: Order) -> None:
    body = {"severity": "within days", "within_days": 14, "text": "Crack in the ladder", "procedure": farm.procedures["lamp"].pk}
    made = client_of(technician_user).post(here(order, "findings/"), body)
    assert made.status_code == 201, made.content
    mend = f"{made['Location']}raise-order/"
    assert_error(client_of(technician_user).post(mend, {}), 403)
    raised = client_of(planner_user).post(mend, {})
    assert raised.status_code == 201, raised.content
    assert (raised.json()["origin"], raised.json()["due_on"]) == ("finding", "2026-06-24")
    assert client_of(planner_user).get(raised["Location"]).json() == raised.json()
    assert_error(client_of(planner_user).post(mend, {}), 409)
    assert_error(client_of(technician_user).post(here(order, "findings/"), {**body, "within_days": None}), 400, "within_days")
    assert_error(client_of(technician_user).post(here(order, "findings/"), {**body, "within_days": 0}), 400, "within_days")
    assert_error(client_of(technician_user).post(here(order, "findings/"), {**body, "severity": "soon"}), 400, "severity")


@pytest.mark.parametrize("value", [True, "NaN", None, "2,1"])
def test_a_reading_is_a_number(value: object, farm: Farm, planner_user: User, order: Order) -> None:
    Order.objects.filter(pk=order.pk).update(state="under way")
    step = farm.procedures["service"].steps.get(number=2)
    assert_error(client_of(planner_user).post(here(order, "results/"), {"step": step.pk, "value": value}), 400, "value")


def test_effort_goes_down_but_not_below_nothing(farm: Farm, technician_user: User, order: Order) -> None:
    client = client_of(technician_user)
    assert client.post(here(order, "effort/"), {"change_h": -4.5}).json()["effort_left_h"] == 19.5
    assert_error(client.post(here(order, "effort/"), {"change_h": -20}), 400, "change_h")
    assert_error(client.post(here(order, "effort/"), {"change_h": True}), 400, "change_h")


def test_a_stranger_finds_nothing(farm: Farm, planner_user: User, stranger: User, order: Order) -> None:
    client_of(planner_user).post(here(order, "holds/"), {"kind": "parts", "reason": "x"})
    client_of(planner_user).post(here(order, "findings/"), {"severity": "stop now", "text": "x"})
    client = client_of(stranger)
    for route in ("orders", "holds", "findings", "results"):
        assert rows_of(client.get(f"{API}{route}/")) == []
    for action in ("moves/", "holds/", "findings/", "results/", "effort/"):
        theirs, missing = client.post(here(order, action), {}), client.post(f"{ORDERS}987654/{action}", {})
        assert_error(missing, 404)
        assert theirs.content == missing.content
    for action in ("", "moves/", "holds/", "findings/", "results/"):
        assert_error(client.get(here(order, action)), 404)
    assert_error(client.post(f"{API}holds/{order.holds.get().pk}/clear/", {}), 404)
    assert_error(client.post(f"{API}findings/{order.findings.get().pk}/raise-order/", {}), 404)
    assert_error(client.get(ORDERS, {"turbine": farm.h1.pk}), 400, "turbine")


def test_a_viewer_reads_and_writes_nothing(farm: Farm, viewer_user: User, order: Order) -> None:
    client = client_of(viewer_user)
    assert client.get(here(order)).json()["moves"] == []
    for action in ("moves/", "holds/", "findings/", "results/", "effort/"):
        assert_error(client.post(here(order, action), {}), 403)
    assert_error(client.post(ORDERS, {}), 403)
    assert_error(client.post(f"{ORDERS}raise-from-due/", {"site": farm.hill.pk}), 403)


def test_wrong_methods_and_nobody(farm: Farm, planner_user: User, order: Order) -> None:
    client = client_of(planner_user)
    for ask in (client.put, client.patch, client.delete):
        assert_error(ask(here(order)), 405)
    assert_error(client.get(here(order, "effort/")), 405)
    assert_error(client.get(f"{ORDERS}raise-from-due/"), 405)
    assert_error(client_of(None).get(ORDERS), 401)
    assert_error(client_of(None).post(here(order, "moves/"), {}), 401)


def test_a_technician_of_another_site_starts_nothing_here(farm: Farm, order: Order) -> None:
    user = build_user("both", "viewer", farm.hill)
    user.memberships.create(site=farm.plain, role="technician")
    Order.objects.filter(pk=order.pk).update(state="prepared")
    assert_error(move(user, order, "start"), 403)
    assert_error(client_of(user).post(here(order, "findings/"), {"severity": "stop now", "text": "x"}), 403)


def test_orders_filter_and_order(farm: Farm, planner_user: User, order: Order) -> None:
    client = client_of(planner_user)
    other = order_raise_by_hand(turbine=farm.h2, procedure=farm.procedures["lamp"], due_on="2026-06-12", by=planner_user)
    assert ids_of(client.get(ORDERS, {"turbine": farm.h2.pk})) == {other.pk}
    assert ids_of(client.get(ORDERS, {"klass": "service"})) == {order.pk}
    assert ids_of(client.get(ORDERS, {"site": farm.hill.pk, "due_on__lte": "2026-06-12"})) == {other.pk}
    assert [row["id"] for row in rows_of(client.get(ORDERS, {"ordering": "-due_on"}))] == [order.pk, other.pk]
    assert_error(client.get(ORDERS, {"state": "flying"}), 400, "state")
    assert_error(client.get(ORDERS, {"ordering": "finished_by__password"}), 400, "ordering")
    assert_error(client.get(ORDERS, {"turbine__site__name": "x"}), 400, "turbine__site__name")


@pytest.mark.parametrize("route", ["orders", "holds", "findings", "results", "orders/{}/moves", "orders/{}/holds"])
def test_lists_cost_the_same_with_more_rows(route: str, farm: Farm, planner_user: User, order: Order) -> None:
    client, address = client_of(planner_user), f"{API}{route.format(order.pk)}/"
    steps = list(farm.procedures["service"].steps.all())

    def grow() -> None:
        new = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["service"], due_on="2026-06-20", by=planner_user)
        new.results.create(step=steps[0], by=planner_user, at="2026-06-10T06:00Z")
        for one in (new, order):
            one.holds.create(kind="parts", reason="x", since="2026-06-10")
            one.findings.create(severity="stop now", text="x", found_on="2026-06-10")
            one.moves.create(name="x", source="raised", target="raised", by=planner_user, at="2026-06-10T06:00Z")

    grow()
    before = queries_of(lambda: client.get(address))
    few = len(rows_of(client.get(address)))
    for _ in range(30):
        grow()
    assert len(rows_of(client.get(address))) > few
    assert queries_of(lambda: client.get(address)) == before
    assert_recorded(f"GET {route.replace('{}', 'id')}", before)


def test_a_component_has_its_name_and_none_has_none(farm: Farm, planner_user: User) -> None:
    for component in (None, farm.blades[1]):
        order_raise_by_hand(
            turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner_user, component=component
        )
    answer = client_of(planner_user).get("/api/v1/orders/")
    assert [row["component_name"] for row in rows_of(answer)] == ["", "blade 2/3"]
