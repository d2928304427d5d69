"""The page What if: asking, changing, solving, holding side by side, publishing, throwing away."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import Site
from planner.selectors.caller import Caller
from planner.selectors.ownership import visible
from scheduling.fortnight.changes import KINDS
from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run, WhatIf
from scheduling.services.what_ifs import what_if_change
from scheduling.views.what_if_forms import FORMS, change_in
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import Farm, build_user
from tests.page_rows import build_plan, client_of, words_of
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs import scenes as what_ifs
from tests.scheduling.services.what_ifs.scenes import AWAY, BY_HAND, CLOSED, HIRED, run_of, solved, what_if

PAGE = "/what-if/"


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with W-1 and W-2, H1's lift inspected and a calm forecast."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    return farm


@pytest.fixture
def told(rows: Farm) -> Plan:
    """W-1 on Wednesday is published, W-2 was left out."""
    return what_ifs.told(rows)


def post(user: User, row: WhatIf | None = None, **fields: Any) -> Any:
    data = {**({"base": row.base_id, "what_if": row.pk} if row else {}), **fields}
    return client_of(user).post(PAGE, data, follow=True)


def page(user: User, row: WhatIf, more: str = "") -> str:
    return words_of(client_of(user).get(f"{PAGE}?base={row.base_id}&what_if={row.pk}{more}"))


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


def test_side_by_side_with_the_published_plan(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    response = client_of(viewer_user).get(f"{PAGE}?base={rows.north.pk}&what_if={row.pk}")
    words = words_of(response)
    assert "Side by side" in words
    assert row.result is not None
    assert f"Cost, each at its own prices EUR {told.value:,.0f} EUR {row.result.value:,.0f} − EUR" in words
    assert f"less wind against plan {told.pk}" in words
    assert "W-1: from Wed 10 Jun, 08:30 to Thu 11 Jun" in words
    assert "new : W-2: new on" in words
    assert "Orders planned 1 2 + 1" in words
    assert f"plan {told.pk} W-2 W-2 left out: No room." in words
    assert "Nothing is late." in words
    assert "Wed 10 Jun 2026 HILL H1 08:30 to 11:00, 100 % W-1 Ada, Ben" in words
    assert response.content.decode().count('class="drawing"') == 2
    assert "never authorises" in words
    assert "Publish this what-if" not in words, "a viewer looks"


def test_three_side_by_side_and_two_what_ifs(rows: Farm, told: Plan, viewer_user: User) -> None:
    one, other = solved(rows, CLOSED), solved(rows, BY_HAND, name="without W-2")
    words = page(viewer_user, one, f"&of=published&of=what-if-{one.pk}&of=what-if-{other.pk}")
    assert "without W-2 against plan" in words
    assert "W-2 Change a lamp, H2 left out: Left out by hand in this what-if." in words
    words = page(viewer_user, one, f"&of=what-if-{one.pk}&of=what-if-{other.pk}")
    assert "without W-2 against less wind" in words


@pytest.mark.parametrize(
    ("of", "status", "sentence"),
    [
        (("published", "draft"), 400, "North has no newer draft"),
        (("published",), 400, "1 different plans are named: give 2 or 3 of published, draft"),
        (("published", "published"), 400, "1 different plans are named"),
        (("published", "moon"), 400, "'moon' names no plan"),
        (("published", "plan-999"), 400, "There is no plan 999 of North, or not for you"),
        (("published", "what-if-999"), 400, "There is no what-if 999 of North"),
    ],
)
def test_what_cannot_be_compared_is_said(
    of: tuple[str, ...], status: int, sentence: str, rows: Farm, told: Plan, viewer_user: User
) -> None:
    response = client_of(viewer_user).get(PAGE, {"base": rows.north.pk, "of": list(of)})
    assert response.status_code == status
    assert sentence in words_of(response)


def test_an_unsolved_one_and_a_plan_without_its_problem_cannot_be_compared(rows: Farm, viewer_user: User) -> None:
    row, old = what_if(rows), build_plan(rows)
    for key, sentence in (
        (f"what-if-{row.pk}", "has no plan for its changes as they stand"),
        (f"plan-{old.pk}", "is not stored in full"),
    ):
        response = client_of(viewer_user).get(PAGE, {"base": rows.north.pk, "of": [f"plan-{old.pk}", key, "published"]})
        assert sentence in words_of(response)
        assert response.status_code in (400, 409)


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


def another_site(farm: Farm) -> User:
    """A viewer of a second site of base North, where nothing stands."""
    other = Site.objects.get(code="HILL")
    other.pk, other.code, other.name = None, "VALE", "Valley"
    other.save()
    return build_user("guest", "viewer", other)


def test_visits_and_orders_of_other_sites_are_not_named(rows: Farm, told: Plan) -> None:
    made = scenes.good_plan()
    run = scenes.run(rows, state="done", best=plan_to_json(made), bound=1.0)
    old = build_plan(rows, state="superseded")
    Plan.objects.filter(pk=old.pk).update(run=run)
    guest = another_site(rows)
    response = client_of(guest).get(PAGE, {"base": rows.north.pk, "of": ["published", f"plan-{old.pk}"]})
    words = words_of(response)
    assert "Side by side" in words
    assert "W-1" not in response.content.decode()
    assert "W-2" not in response.content.decode()
    assert "No visit differs." in words


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


def test_without_any_plan_its_own_is_shown_alone(rows: Farm, viewer_user: User) -> None:
    words = page(viewer_user, solved(rows, CLOSED))
    assert "Its plan" in words
    assert "HILL H1 " in words
    assert "against" not in words


def test_it_may_mend_the_published_plan(rows: Farm, planner_user: User, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    row = what_if(rows)
    post(planner_user, row, do="solve", seconds="20", start="published")
    assert run_of(row).params == {"time_limit_s": 20.0, "gap": 0.01, "start": "published"}
    assert "'moon' is not known" in words_of(post(planner_user, what_if(rows, name="b"), do="solve", start="moon"))


def test_a_difference_that_a_longer_search_could_turn_is_called_unproven(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    assert row.result is not None
    unproven = "The difference in cost proves nothing yet"
    Run.objects.filter(pk=told.run_id).update(bound=told.value)
    assert unproven not in page(viewer_user, row)
    Run.objects.filter(pk=told.run_id).update(bound=row.result.value - 1)
    assert unproven in page(viewer_user, row)
    Run.objects.filter(pk=told.run_id).update(bound=None)
    assert unproven in page(viewer_user, row)
    assert "Proven least unknown EUR" in page(viewer_user, row)


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
