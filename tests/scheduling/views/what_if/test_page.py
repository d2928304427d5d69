"""The page What if: asking, changing, solving, holding side by side, publishing, throwing away."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from planner.selectors.caller import Caller
from planner.selectors.ownership import visible
from scheduling.fortnight.changes import KINDS
from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run, WhatIf
from scheduling.services.what_ifs import what_if_change
from scheduling.views.what_if_forms import FORMS, change_in
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import Farm
from tests.page_rows import client_of, words_of
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import AWAY, BY_HAND, CLOSED, HIRED, run_of, solved, what_if
from tests.scheduling.views.what_if.scenes import PAGE, another_site, page, post


def test_an_empty_page_says_what_to_do(rows: Farm, planner_user: User, viewer_user: User) -> None:
    assert "No what-if is open. Give one a name below." in words_of(client_of(planner_user).get(PAGE))
    words = words_of(client_of(viewer_user).get(PAGE))
    assert "A planner of this base opens the first one." in words
    assert "Copy the fortnight" not in words


def test_from_a_name_to_a_published_plan(rows: Farm, planner_user: User, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    asked = {"do": "new", "base": rows.north.pk, "name": "nobody at H1", "first_day": "2026-06-10", "days": "2", "note": "nest?"}
    words = words_of(post(planner_user, **asked))
    assert "What-if 'nobody at H1' holds the fortnight as it is now" in words
    assert "Nothing is changed yet" in words
    row = WhatIf.objects.get()
    closed = {"kind": "turbine closed", "turbine": "HILL H1", "first": "2026-06-10", "last": "2026-06-10"}
    words = words_of(post(planner_user, row, do="add", **closed))
    assert "HILL H1 closed Wed 10 Jun" in words
    assert "enter a closure of HILL H1 for Wed 10 Jun (Register, Closures)" in words
    assert "is queued. It shows here while it solves." in words_of(post(planner_user, row, do="solve", seconds="20"))
    run = run_of(row)
    assert "Add a change" not in page(planner_user, row)
    Run.objects.filter(pk=run.pk).update(state="done", best=plan_to_json(scenes.good_plan()))
    row = solved(rows, CLOSED, name="the same, solved")
    words = words_of(post(planner_user, row, do="publish"))
    assert "What-if 'the same, solved' is published as plan" in words
    assert "✓ published" in words
    assert "It answers the what-if the same, solved : HILL H1 closed Wed 10 Jun." in words
    row.refresh_from_db()
    assert row.state == "published"
    assert "Ended what-ifs" in words_of(client_of(planner_user).get(PAGE))


def test_refused_publication_lists_the_rows_to_change(rows: Farm, planner_user: User) -> None:
    rows.people["Ben"].absences.create(first_day=scenes.FIRST, last_day="2026-06-12")
    row = solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    response = post(planner_user, row, do="publish")
    words = words_of(response)
    assert response.status_code == 409
    assert "To make this true, change these rows first" in words
    assert "Eve added, as Ada in shifts, skills and certificates, 600 EUR a day out : enter Eve as a technician" in words
    assert not Plan.objects.exists()


def test_a_looser_limit_carries_its_caution(rows: Farm, viewer_user: User) -> None:
    words = page(viewer_user, what_if(rows, {"kind": "limit", "limit_set": "tower", "value": 14}))
    assert "wind limit of tower 14 m/s ! Looser than the register: a trial only. Nobody goes up by it unless" in words
    assert "(12 m/s now)" in words


def test_a_new_one_may_start_with_the_changes_of_another(rows: Farm, planner_user: User) -> None:
    like = what_if(rows, AWAY, CLOSED)
    asked = {"do": "new", "base": rows.north.pk, "name": "second", "first_day": "2026-06-10", "days": "2", "like": like.pk}
    assert "the changes of less wind" in words_of(post(planner_user, **asked))
    assert WhatIf.objects.get(name="second").changes == [AWAY, CLOSED]
    response = post(planner_user, **{**asked, "name": "third", "like": "999"})
    assert (response.status_code, WhatIf.objects.count()) == (400, 2)


def test_changes_are_taken_off(rows: Farm, planner_user: User) -> None:
    row = what_if(rows, AWAY, CLOSED)
    assert "The change is taken off." in words_of(post(planner_user, row, do="remove", number="0"))
    row.refresh_from_db()
    assert row.changes == [CLOSED]


def test_stopped_and_thrown_away(rows: Farm, planner_user: User, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    row = what_if(rows)
    post(planner_user, row, do="solve")
    run = run_of(row)
    assert f'hx-get="/runs/{run.pk}/progress/"' in client_of(planner_user).get(f"{PAGE}?what_if={row.pk}").content.decode()
    fragment = client_of(planner_user).get(f"/runs/{run.pk}/progress/").content.decode()
    assert 'action="/what-if/"' in fragment
    assert f'name="what_if" value="{row.pk}"' in fragment
    assert "is asked to stop" in words_of(post(planner_user, row, do="stop", run=run.pk))
    assert "That run is not of this what-if" in words_of(post(planner_user, what_if(rows, name="b"), do="stop", run=run.pk))
    assert "is thrown away" in words_of(post(planner_user, row, do="throw-away"))
    row.refresh_from_db()
    assert row.state == "thrown away"


def test_the_base_s_own_run_and_draft_are_left_alone(rows: Farm, viewer_user: User) -> None:
    solved(rows, CLOSED)
    words = words_of(client_of(viewer_user).get("/fortnight/"))
    assert "No plan yet." in words
    assert "Run " not in words


POSTS: dict[str, dict[str, str]] = {
    "person away": {"person": "Ada", "first": "2026-06-10", "last": "2026-06-11"},
    "person added": {"person": "Eve", "like": "Ben", "day_cost": "650.50"},
    "shift longer": {"person": "Ada", "minutes": "-60", "first": "2026-06-10", "last": "2026-06-10"},
    "due date": {"order": "W-1", "day": "2026-06-20"},
    "allowed days": {"order": "W-1", "first": "2026-06-11", "last": "2026-06-11"},
    "left out by hand": {"order": "W-1"},
    "left out cost": {"order": "W-1", "cost": "99.5"},
    "order mode": {"order": "W-1", "team": "3", "visits_min": "60, 30"},
    "pin lifted": {"order": "W-1"},
    "limit": {"limit_set": "tower", "quantity": "gust", "value": "17.5"},
    "confidence": {"share": "0.7"},
    "vehicle added": {"vehicle": "bus", "seats": "9"},
    "vehicle gone": {"vehicle": "van 1"},
    "turbine closed": {"turbine": "HILL H1", "first": "2026-06-10", "last": "2026-06-11"},
    "weight": {"weight": "travel", "value": "2"},
    "change weight": {"times": "0"},
    "rule": {"site": "HILL", "value": "1"},
}


@pytest.mark.parametrize("kind", POSTS)
def test_every_form_gives_a_change_that_fits(kind: str, rows: Farm) -> None:
    row = what_if(rows)
    made = what_if_change(what_if=row, by=None, add=[change_in({"kind": kind, **POSTS[kind]})])
    assert made.changes[0]["kind"] == kind


def test_there_is_a_form_for_every_kind() -> None:
    assert set(FORMS) == set(KINDS)
    not_here = {"parts earlier", "equipment days"}  # the two orders wait for nothing
    assert set(POSTS) == set(KINDS) - not_here


@pytest.mark.parametrize(
    ("posted", "sentence"),
    [
        ({"kind": "moon"}, "'moon' is no kind of change"),
        ({"kind": "person away", "person": "Ada", "first": "2026-06-11", "last": "2026-06-10"}, "are 0 days: give 1 to 31"),
        ({"kind": "person away", "person": "Ada", "first": "2026-06-11", "last": "2026-09-10"}, "are 92 days"),
        ({"kind": "person away", "first": "2026-06-11", "last": "2026-06-11"}, "Person is empty"),
        ({"kind": "vehicle added", "vehicle": "bus", "seats": ""}, "Seats is empty"),
        ({"kind": "order mode", "order": "W-1", "team": "2", "visits_min": "one"}, "give whole minutes"),
        ({"kind": "shift longer", "person": "Ada", "minutes": "7.5"}, "give whole minutes"),
        ({"kind": "confidence", "share": "0,7"}, "has a comma"),
        ({"kind": "confidence", "share": "7"}, "give a share from 0.5 to 1"),
        ({"kind": "person away", "person": "Zoe", "first": "2026-06-10", "last": "2026-06-10"}, "'Zoe' is no person"),
    ],
)
def test_bad_input_is_said_and_changes_nothing(posted: dict[str, str], sentence: str, rows: Farm, planner_user: User) -> None:
    row = what_if(rows)
    response = post(planner_user, row, do="add", **posted)
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert WhatIf.objects.get().changes == []


def test_viewers_read_and_strangers_see_nothing(rows: Farm, viewer_user: User, stranger: User) -> None:
    row = what_if(rows, AWAY)
    assert "Ada away Wed 10 Jun" in page(viewer_user, row)
    for do in ("add", "remove", "solve", "publish", "throw-away"):
        response = post(viewer_user, row, do=do, number="0", kind="confidence", share="0.9")
        assert response.status_code == 403, do
    assert client_of(stranger).get(f"{PAGE}?what_if={row.pk}").status_code == 404
    assert client_of(stranger).post(PAGE, {"do": "throw-away", "what_if": row.pk, "base": rows.north.pk}).status_code in (
        400,
        404,
    )
    row.refresh_from_db()
    assert row.state == "open"


def test_a_what_if_is_for_members_of_every_site_of_its_base(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    assert "less wind" in words_of(client_of(viewer_user).get(PAGE))
    guest = another_site(rows)
    for user in (viewer_user, guest):
        assert "less wind" not in words_of(client_of(user).get(PAGE))
        assert client_of(user).get(f"{PAGE}?what_if={row.pk}").status_code == 404
        response = client_of(user).get(PAGE, {"base": rows.north.pk, "of": ["published", f"what-if-{row.pk}"]})
        assert "There is no what-if" in words_of(response)
        assert not visible(WhatIf.objects.all(), Caller(user)).exists()


def test_it_may_mend_the_published_plan(rows: Farm, planner_user: User, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    row = what_if(rows)
    post(planner_user, row, do="solve", seconds="20", start="published")
    assert run_of(row).params == {"time_limit_s": 20.0, "gap": 0.01, "start": "published"}
    assert "'moon' is not known" in words_of(post(planner_user, what_if(rows, name="b"), do="solve", start="moon"))


@pytest.mark.parametrize("query", ["what_if=x", "what_if=0", "base=999"])
def test_bad_addresses(query: str, rows: Farm, viewer_user: User) -> None:
    assert client_of(viewer_user).get(f"{PAGE}?{query}").status_code in (400, 404)


def test_queries(rows: Farm, told: Plan, planner_user: User) -> None:
    one = solved(rows, CLOSED)
    client = client_of(planner_user)
    address = f"{PAGE}?base={rows.north.pk}&what_if={one.pk}"
    client.get(address)
    before = queries_of(lambda: client.get(address))
    for number in range(4):
        solved(rows, BY_HAND, name=f"more {number}")
    assert queries_of(lambda: client.get(address)) == before
    assert_recorded("page what-if", before)
