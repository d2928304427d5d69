"""Plans, visits, rounds, the morning and its calls over the API."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User

from planner.models import Membership, Site
from scheduling.models import Call, Plan, Round, RoundItem, Visit
from tests.api_helpers import API, assert_error, assert_recorded, client_of, ids_of, queries_of, rows_of
from tests.farm import NOW, TODAY, Farm, build_turbine
from tests.scheduling.api.scenes import drafted, forecast, run, visit
from tests.scheduling.services import scenes
from workorders.models import Order

PLANS, VISITS, ROUNDS, MORNING = (f"{API}{name}/" for name in ("plans", "visits", "rounds", "morning"))


@pytest.fixture
def draft(farm: Farm) -> Plan:
    """A draft that holds W-1 and leaves W-2 out."""
    return drafted(farm)


def test_a_plan_says_what_it_holds_and_what_not(farm: Farm, viewer_user: User, draft: Plan) -> None:
    client = client_of(viewer_user)
    (row,) = rows_of(client.get(PLANS))
    assert (row["id"], row["state"], row["first_day"], row["last_day"]) == (draft.pk, "draft", "2026-06-10", "2026-06-11")
    assert [left["order"] for left in client.get(f"{PLANS}{draft.pk}/").json()["left_out"]] == ["W-2"]
    (stay,) = rows_of(client.get(f"{PLANS}{draft.pk}/visits/"))
    assert (stay["turbine_code"], stay["vehicle_name"], stay["starts_at"]) == ("H1", "van 1", "2026-06-10T06:30:00Z")
    assert {person["name"] for person in stay["people"]} == {"Ada", "Ben"}
    assert [job["order_number"] for job in stay["jobs"]] == ["W-1"]
    assert "competent person" in stay["caution"]
    assert rows_of(client.get(VISITS, {"day": "2026-06-10", "state": "draft"})) == [stay]
    assert rows_of(client.get(VISITS, {"state": "published"})) == []
    assert rows_of(client.get(VISITS, {"people": farm.people["Ada"].pk, "site": farm.hill.pk})) == [stay]


def test_publishing_slots_the_orders_once(farm: Farm, planner_user: User, draft: Plan) -> None:
    scenes.ready(farm)
    client, here = client_of(planner_user), f"{PLANS}{draft.pk}/"
    tag = client.get(here)["ETag"]
    assert_error(client.post(f"{here}publish/", {}, HTTP_IF_MATCH='"old"'), 412)
    done = client.post(f"{here}publish/", {}, HTTP_IF_MATCH=tag)
    assert done.status_code == 200, done.content
    assert (done.json()["state"], done.json()["published_by"]) == ("published", "planner")
    assert Order.objects.get(number="W-1").state == "slotted"
    assert_error(client.post(f"{here}publish/", {}), 409)


def test_who_may_publish(farm: Farm, draft: Plan, lead_user: User, viewer_user: User, stranger: User) -> None:
    address = f"{PLANS}{draft.pk}/publish/"
    for user in (lead_user, viewer_user):
        assert_error(client_of(user).post(address, {}), 403)
    assert_error(client_of(stranger).post(address, {}), 404)
    assert_error(client_of(None).post(address, {}), 401)
    draft.refresh_from_db()
    assert draft.state == "draft"


def test_plans_are_never_written_by_hand(farm: Farm, draft: Plan, planner_user: User) -> None:
    client, stay = client_of(planner_user), draft.visits.get()
    for address in (f"{PLANS}{draft.pk}/", f"{VISITS}{stay.pk}/"):
        for call in (client.put, client.patch, client.delete):
            assert_error(call(address), 405)
    for address in (PLANS, VISITS, ROUNDS, f"{API}calls/"):
        assert_error(client.post(address, {}), 405)


def test_of_a_shared_base_each_sees_their_sites_visits(farm: Farm, draft: Plan, planner_user: User, stranger: User) -> None:
    """A site that shares the base sees that there is a plan, and of visits and left-out orders only its own."""
    Site.objects.filter(pk=farm.plain.pk).update(base=farm.north)
    client = client_of(stranger)
    assert ids_of(client.get(PLANS)) == {draft.pk}
    assert client.get(f"{PLANS}{draft.pk}/").json()["left_out"] == []
    assert rows_of(client.get(f"{PLANS}{draft.pk}/visits/")) == []
    assert rows_of(client.get(VISITS)) == []
    assert_error(client.get(f"{VISITS}{draft.visits.get().pk}/"), 404)
    assert_error(client.post(f"{PLANS}{draft.pk}/publish/", {}), 403)


def test_a_stranger_finds_nothing(farm: Farm, draft: Plan, stranger: User) -> None:
    client = client_of(stranger)
    for address in (PLANS, VISITS, ROUNDS, f"{API}calls/"):
        assert rows_of(client.get(address)) == []
    assert client.get(f"{PLANS}{draft.pk}/").content == client.get(f"{PLANS}987654/").content
    assert_error(client.get(VISITS, {"plan": draft.pk}), 400, "plan")
    assert_error(client.get(VISITS, {"people__user__password": "x"}), 400, "people__user__password")


def test_a_round_by_week(farm: Farm, viewer_user: User, stranger: User) -> None:
    made = a_round(farm)
    client = client_of(viewer_user)
    assert ids_of(client.get(ROUNDS)) == {made.pk}
    assert client.get(f"{ROUNDS}{made.pk}/").json()["about"] == {"weeks": []}
    rows = rows_of(client.get(f"{ROUNDS}{made.pk}/items/"))
    assert [(row["turbine_code"], row["week"], row["reason"]) for row in rows] == [
        ("H1", "2026-06-15", ""), ("H2", None, "no crew"),
    ]  # fmt: skip
    assert_error(client_of(stranger).get(f"{ROUNDS}{made.pk}/items/"), 404)


def test_of_a_shared_base_a_round_names_ones_own_items_only(farm: Farm, planner_user: User, stranger: User) -> None:
    Site.objects.filter(pk=farm.plain.pk).update(base=farm.north)
    made = a_round(farm)
    Round.objects.filter(pk=made.pk).update(about={"met_share": {"HILL H1 svc-12 2026-06-10": 1.0}, "warnings": ["H1 is late."]})
    for user in (planner_user, stranger):
        answer = client_of(user).get(f"{ROUNDS}{made.pk}/")
        assert answer.status_code == 200, answer.content
        assert b"H1" not in answer.content
    Membership.objects.create(user=stranger, site=farm.hill, role="viewer")
    assert b"H1 is late." in client_of(stranger).get(f"{ROUNDS}{made.pk}/").content


def a_round(farm: Farm) -> Round:
    """A round with one item in its week and one left out."""
    made = Round.objects.create(
        base=farm.north, run=run(farm, kind="year"), first_day=TODAY, last_day=TODAY + timedelta(days=364), about={"weeks": []}
    )
    items = ((farm.h2, None, "no crew"), (farm.h1, date(2026, 6, 15), ""))
    for turbine, week, reason in items:
        made.items.create(
            turbine=turbine, interval=farm.intervals["svc-12"], due_on=TODAY, closes_on=TODAY, week=week, reason=reason
        )
    return made


def test_the_morning_says_go_and_keeps_it_when_said(farm: Farm, viewer_user: User, lead_user: User) -> None:
    stay = visit(farm)
    forecast(farm)
    asked = client_of(viewer_user).get(MORNING, {"base": farm.north.pk, "day": "2026-06-10"})
    assert asked.status_code == 200, asked.content
    (call,) = asked.json()["calls"]
    assert (call["visit"], call["turbine_code"], call["verdict"]) == (stay.pk, "H1", "go")
    assert call["down_by"] > call["start"]
    assert call["forecast_age_h"] == 1.0
    assert {person["name"] for person in call["people"]} == {"Ada", "Ben"}
    assert "competent person" in asked.json()["caution"]
    assert "lightning" in asked.json()["limit_passed"].lower()
    assert not Call.objects.exists()
    said = client_of(lead_user).post(MORNING, {"base": farm.north.pk})
    assert said.status_code == 201, said.content
    (kept,) = rows_of(client_of(viewer_user).get(f"{API}calls/"))
    assert (kept["visit"], kept["verdict"], kept["by"]) == (stay.pk, "go", "lead")


def test_the_morning_is_no_go_on_a_stale_forecast(farm: Farm, viewer_user: User) -> None:
    visit(farm)
    forecast(farm, age_h=13)
    (call,) = client_of(viewer_user).get(MORNING, {"base": farm.north.pk}).json()["calls"]
    assert (call["verdict"], call["start"], call["down_by"]) == ("no-go", None, None)
    assert call["reasons"]


def test_the_morning_refuses_what_it_does_not_know(farm: Farm, lead_user: User, technician_user: User, stranger: User) -> None:
    client = client_of(lead_user)
    assert_error(client.get(MORNING, {"base": farm.north.pk}), 400, "day")
    assert_error(client.get(MORNING), 400, "base")
    assert_error(client.get(MORNING, {"base": 0}), 400, "base")
    assert_error(client.get(MORNING, {"base": farm.north.pk, "day": "2026-02-31"}), 400, "day")
    assert_error(client.get(MORNING, {"base": farm.north.pk, "colour": "red"}), 400, "colour")
    assert_error(client.post(MORNING, {"base": farm.north.pk, "colour": "red"}), 400, "colour")
    assert_error(client_of(technician_user).post(MORNING, {"base": farm.north.pk}), 403)
    assert_error(client_of(None).get(MORNING), 401)
    assert_error(client.delete(MORNING), 405)
    assert_error(client_of(stranger).post(MORNING, {"base": farm.north.pk}), 400, "base")


def test_a_stranger_learns_nothing_from_the_morning(farm: Farm, stranger: User) -> None:
    visit(farm)
    forecast(farm)
    assert_error(client_of(stranger).get(MORNING, {"base": farm.north.pk}), 400, "base")


@pytest.mark.parametrize("route", ["plans", "visits", "rounds", "calls", "plans/{plan}/visits", "rounds/{round}/items"])
def test_lists_cost_the_same_with_more_rows(route: str, farm: Farm, viewer_user: User) -> None:
    first, ring = visit(farm), a_round(farm)
    order = Order.objects.get(number="W-1")
    address = f"{API}{route.format(plan=first.plan_id, round=ring.pk)}/?page_size=100"
    client = client_of(viewer_user)

    def grow(n: int) -> None:
        turbine = build_turbine(farm.hill, f"X{n}", farm.h1.type, n, 100)
        more = Visit.objects.create(
            plan=first.plan, turbine=turbine, vehicle=first.vehicle, day=TODAY, starts_at=NOW, ends_at=NOW + timedelta(hours=2),
            down_by=NOW, chance=1, by="lift",
        )  # fmt: skip
        more.people.set(farm.people.values())
        more.jobs.create(order=order, work_min=60)
        more.calls.create(verdict="go", said_at=NOW, by=viewer_user)
        Plan.objects.create(base=farm.north, run=run(farm, state="done"), first_day=TODAY, last_day=TODAY, value=0, bound=0)
        Round.objects.create(base=farm.north, run=run(farm, state="done"), first_day=TODAY, last_day=TODAY)
        RoundItem.objects.create(
            round=ring,
            turbine=turbine,
            component=farm.blades[0],
            interval=farm.intervals["svc-12"],
            due_on=TODAY,
            closes_on=TODAY,
        )

    grow(0)
    before, few = queries_of(lambda: client.get(address)), len(rows_of(client.get(address)))
    for n in range(1, 30):
        grow(n)
    assert len(rows_of(client.get(address))) == few + 29
    assert queries_of(lambda: client.get(address)) == before
    assert_recorded(f"GET {route.format(plan='id', round='id')}", before)


def test_telling_a_days_teams(farm: Farm, planner_user: User, viewer_user: User, draft: Plan) -> None:
    here, day = f"{PLANS}{draft.pk}/tell/", {"day": "2026-06-10"}
    assert_error(client_of(planner_user).post(here, day), 409)
    Plan.objects.filter(pk=draft.pk).update(state="published", published_at=NOW)
    assert_error(client_of(viewer_user).post(here, day), 403)
    assert_error(client_of(planner_user).post(here, {"day": "2026-06-31"}), 400, "day")
    assert client_of(planner_user).post(here, day).json() == {"day": "2026-06-10", "told": 1}
    (stay,) = rows_of(client_of(viewer_user).get(f"{PLANS}{draft.pk}/visits/"))
    assert stay["told_at"] is not None
