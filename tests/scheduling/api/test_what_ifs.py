"""What-ifs over the API: asked, changed, solved, held side by side, published, thrown away."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from scheduling.models import Plan, Run, WhatIf
from tests.api_helpers import API, assert_error, assert_recorded, assert_same_cost, client_of, queries_of, rows_of
from tests.farm import Farm
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs import scenes as what_ifs
from tests.scheduling.services.what_ifs.scenes import AWAY, BY_HAND, CLOSED, HIRED, solved, what_if

URL = f"{API}what-ifs/"


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with W-1 and W-2, H1's lift inspected and a calm forecast."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    return farm


def ask(user: User | None, farm: Farm, **more: Any) -> Any:
    body = {"base": farm.north.pk, "name": "less wind", "first_day": "2026-06-10", "days": 2, **more}
    return client_of(user).post(URL, body)


def test_asked_changed_and_read(rows: Farm, planner_user: User, viewer_user: User) -> None:
    made = ask(planner_user, rows, note="try", changes=[AWAY])
    assert made.status_code == 201, made.content
    row = made.json()
    assert (row["state"], row["by"], row["changes"], row["value"], row["run"]) == ("open", "planner", [AWAY], None, None)
    assert row["told"] == [
        {"said": "Ada away Wed 10 Jun", "do": "enter an absence of Ada on Wed 10 Jun (Register, Technicians)", "caution": ""}
    ]
    assert "never authorises" in row["caution"]
    assert "problem" not in row
    client = client_of(planner_user)
    changed = client.post(f"{made['Location']}change/", {"add": [CLOSED], "remove": [0]}, HTTP_IF_MATCH=made["ETag"])
    assert changed.status_code == 200, changed.content
    assert changed.json()["changes"] == [CLOSED]
    assert_error(client.post(f"{made['Location']}change/", {"add": [AWAY]}, HTTP_IF_MATCH=made["ETag"]), 412)
    assert client_of(viewer_user).get(made["Location"]).json() == changed.json()
    assert rows_of(client.get(URL, {"state": "open"}))[0]["changes"] == [CLOSED]


@pytest.mark.parametrize(
    ("change", "status", "field"),
    [
        ({"base": 0}, 400, "base"),
        ({"name": ""}, 400, "name"),
        ({"name": "x" * 61}, 400, "name"),
        ({"days": 29}, 400, "days"),
        ({"days": True}, 400, "days"),
        ({"first_day": "2026-02-31"}, 400, "first_day"),
        ({"changes": {}}, 400, "changes"),
        ({"changes": [{"kind": "moon"}]}, 400, "changes"),
        ({"changes": [{**AWAY, "person": "Zoe"}]}, 400, "changes"),
        ({"changes": [{"kind": "rule", "rule": "rescue_pair", "value": 1}]}, 400, "changes"),
        ({"state": "published"}, 400, "state"),
    ],
)
def test_what_cannot_be_asked_is_refused(change: dict[str, Any], status: int, field: str, rows: Farm, planner_user: User) -> None:
    assert_error(ask(planner_user, rows, **change), status, field)
    assert not WhatIf.objects.exists()


@pytest.mark.parametrize(
    ("body", "field"),
    [({}, "add"), ({"add": 7}, "add"), ({"remove": [3]}, "remove"), ({"remove": [True]}, "remove"), ({"take": []}, "take")],
)
def test_bad_changes_change_nothing(body: dict[str, Any], field: str, rows: Farm, planner_user: User) -> None:
    row = what_if(rows, AWAY)
    assert_error(client_of(planner_user).post(f"{URL}{row.pk}/change/", body), 400, field)
    assert WhatIf.objects.get().changes == [AWAY]


def test_a_name_that_is_taken_is_a_conflict(rows: Farm, planner_user: User) -> None:
    first = ask(planner_user, rows).json()["id"]
    assert assert_error(ask(planner_user, rows), 409, "name")["extra"] == {"what_if": first}


def test_the_same_key_asks_once(rows: Farm, planner_user: User) -> None:
    body = {"base": rows.north.pk, "name": "once", "first_day": "2026-06-10", "days": 2}
    answers = [client_of(planner_user).post(URL, body, HTTP_IDEMPOTENCY_KEY="one") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert WhatIf.objects.count() == 1


def test_a_solve_is_202_with_the_run_to_watch(rows: Farm, planner_user: User, viewer_user: User) -> None:
    row = what_if(rows, CLOSED)
    client = client_of(planner_user)
    asked = client.post(f"{URL}{row.pk}/solve/", {"params": {"time_limit_s": 20}, "seed": 3})
    assert asked.status_code == 202, asked.content
    assert (asked.json()["what_if"], asked.json()["state"], asked.json()["seed"]) == (row.pk, "queued", 3)
    watched = client_of(viewer_user).get(asked["Location"])
    assert watched.json() == asked.json()
    assert client.get(f"{URL}{row.pk}/").json()["run"] == asked.json()["id"]
    assert assert_error(client.post(f"{URL}{row.pk}/solve/", {}), 409)["extra"] == {"run": asked.json()["id"]}
    assert_error(client.post(f"{URL}{row.pk}/change/", {"add": [AWAY]}), 409)
    assert [one["id"] for one in rows_of(client.get(f"{API}runs/", {"what_if": row.pk}))] == [asked.json()["id"]]
    stopped = client.post(f"{API}runs/{asked.json()['id']}/stop/")
    assert stopped.status_code == 202
    assert_error(client.post(f"{URL}{row.pk}/solve/", {"params": {"colour": 1}}), 400, "params")
    assert_error(client.post(f"{URL}{row.pk}/solve/", {"params": []}), 400, "params")


def test_published_it_is_the_plan_people_go_by(rows: Farm, planner_user: User) -> None:
    row = solved(rows, CLOSED)
    client = client_of(planner_user)
    seen = client.get(f"{URL}{row.pk}/")
    assert seen.json()["value"] == pytest.approx(row.result.value)  # type: ignore[union-attr]
    made = client.post(f"{URL}{row.pk}/publish/", HTTP_IF_MATCH=seen["ETag"])
    assert made.status_code == 200, made.content
    assert (made.json()["state"], made.json()["what_if"]) == ("published", row.pk)
    after = client.get(f"{URL}{row.pk}/").json()
    assert (after["state"], after["plan"]) == ("published", made.json()["id"])
    assert_error(client.post(f"{URL}{row.pk}/publish/"), 409)


def test_a_refused_publication_says_what_to_change_first(rows: Farm, planner_user: User) -> None:
    rows.people["Ben"].absences.create(first_day=scenes.FIRST, last_day="2026-06-12")
    row = solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    error = assert_error(client_of(planner_user).post(f"{URL}{row.pk}/publish/"), 409)
    assert [one["change"] for one in error["extra"]["register"]] == [0, 1]
    assert error["extra"]["register"][0]["do"].startswith("enter Eve as a technician of the base")
    assert error["extra"]["violations"] == ["Eve is no active technician"]
    assert not Plan.objects.exists()


def test_thrown_away(rows: Farm, planner_user: User) -> None:
    row = what_if(rows)
    gone = client_of(planner_user).post(f"{URL}{row.pk}/throw-away/")
    assert (gone.status_code, gone.json()["state"]) == (200, "thrown away")
    assert_error(client_of(planner_user).post(f"{URL}{row.pk}/throw-away/"), 409)


def test_viewers_read_and_strangers_see_nothing(rows: Farm, viewer_user: User, stranger: User, lead_user: User) -> None:
    row = what_if(rows)
    assert client_of(viewer_user).get(f"{URL}{row.pk}/").status_code == 200
    for action, body in (("change", {"add": [AWAY]}), ("solve", {}), ("publish", {}), ("throw-away", {})):
        assert_error(client_of(viewer_user).post(f"{URL}{row.pk}/{action}/", body), 403)
        assert_error(client_of(lead_user).post(f"{URL}{row.pk}/{action}/", body), 403)
        assert_error(client_of(stranger).post(f"{URL}{row.pk}/{action}/", body), 404)
        assert client_of(None).post(f"{URL}{row.pk}/{action}/", body).status_code in (401, 403)
    assert_error(ask(viewer_user, rows, name="mine"), 403)
    assert_error(ask(stranger, rows, name="mine"), 400, "base")
    assert_error(client_of(stranger).get(f"{URL}{row.pk}/"), 404)
    assert rows_of(client_of(stranger).get(URL)) == []


# --- side by side -------------------------------------------------------------------------------------------------


@pytest.fixture
def told(rows: Farm) -> Plan:
    """W-1 on Wednesday is published, W-2 was left out."""
    return what_ifs.told(rows)


def compare(user: User, farm: Farm, *of: str) -> Any:
    return client_of(user).get(f"{URL}compare/", {"base": farm.north.pk, "of": ",".join(of)})


def test_side_by_side(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    answer = compare(viewer_user, rows, "published", f"what-if-{row.pk}")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    first, second = body["sides"]
    assert (first["side"], first["title"], second["title"]) == ("published", f"plan {told.pk}", "less wind")
    assert (first["orders_planned"], second["orders_planned"], first["visits"], second["visits"]) == (1, 2, 1, 2)
    assert first["left_out"] == [{"order": "W-2", "label": "W-2", "reason": "No room."}]
    assert first["people_h"] == pytest.approx(2 * (150 + 40) / 60, abs=0.01)  # 20 minutes there and back, 5 slots
    assert first["value"] == pytest.approx(scenes.half_plan().value / 100)
    assert {(one["kind"], one["order"]) for one in body["changes"]} == {("moved", "W-1"), ("new", "W-2")}
    assert {one["date"] for one in body["days"]} <= {"2026-06-10", "2026-06-11"}
    assert body["same_days"] is True
    assert (first["bound"], first["unsure"]) == (1.0, 0.0)
    assert second["unsure"] == pytest.approx(first["value"] - 1.0), (
        "the published plan's bound is 1: it might cost next to nothing"
    )
    assert "never authorises" in body["caution"]


def test_three_side_by_side(rows: Farm, told: Plan, viewer_user: User) -> None:
    one, other = solved(rows, CLOSED), solved(rows, BY_HAND, name="less work")
    body = compare(viewer_user, rows, "published", f"what-if-{one.pk}", f"what-if-{other.pk}").json()
    assert [side["title"] for side in body["sides"]] == [f"plan {told.pk}", "less wind", "less work"]
    assert body["sides"][2]["left_out"][0]["reason"] == "Left out by hand in this what-if."


@pytest.mark.parametrize(
    ("of", "status"),
    [
        (("published",), 400),
        (("published", "draft"), 400),
        (("published", "plan-0"), 400),
        (("published", "moon"), 400),
        (("published", "what-if-x"), 400),
        (("a", "b", "c", "d"), 400),
    ],
)
def test_what_cannot_be_compared_is_refused(of: tuple[str, ...], status: int, rows: Farm, told: Plan, viewer_user: User) -> None:
    assert_error(compare(viewer_user, rows, *of), status, "of")


def test_an_unsolved_one_is_a_conflict(rows: Farm, told: Plan, viewer_user: User, stranger: User) -> None:
    row = what_if(rows)
    assert_error(compare(viewer_user, rows, "published", f"what-if-{row.pk}"), 409, "of")
    assert_error(compare(stranger, rows, "published", f"what-if-{row.pk}"), 400, "base")


def test_queries(rows: Farm, told: Plan, viewer_user: User) -> None:
    client = client_of(viewer_user)
    one = solved(rows, CLOSED)
    assert_same_cost(client, URL, "GET what-ifs", lambda: [solved(rows, name=f"more {n}") for n in range(3)])
    assert_recorded("GET what-ifs/compare", queries_of(lambda: compare(viewer_user, rows, "published", f"what-if-{one.pk}")))
    assert Run.objects.filter(what_if=one).count() == 1
