"""The Fleet page: begun, watched and stopped, and what failed with its cause."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from planner.models import Membership
from scheduling.models import Fleet, Run
from scheduling.services.fleets import fleet_close, fleet_create
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import TODAY, Farm, build_user
from tests.page_rows import client_of, words_of

BOTH = {"do": "begin", "first_day": "2026-06-10", "days": "14", "seconds": "30"}


@pytest.fixture
def both(farm: Farm) -> User:
    """Planner at HILL and PLAIN."""
    user = build_user("chief", "planner", farm.hill)
    Membership.objects.create(user=user, site=farm.plain, role="planner")
    return user


def begun(by: User, **more: object) -> Fleet:
    return fleet_create(first_day=TODAY, days=14, by=by, **more)  # type: ignore[arg-type]


def test_begun_from_the_form_over_the_bases_ticked(farm: Farm, both: User) -> None:
    client = client_of(both)
    assert "Bases (2)" in words_of(client.get("/fleet/"))
    response = client.post("/fleet/", {**BOTH, "bases": [farm.hill.base_id, farm.plain.base_id]})
    fleet = Fleet.objects.get()
    assert response["Location"] == f"/fleet/?fleet={fleet.pk}"
    words = words_of(client.get(response["Location"]))
    assert "is queued, 2 parts" in words
    assert "Parts ended 0 of 2" in words
    assert fleet.params["time_limit_s"] == 30.0


def test_a_bad_form_is_said_and_kept(farm: Farm, both: User) -> None:
    client = client_of(both)
    refused = client.post("/fleet/", BOTH)
    assert refused.status_code == 400
    assert "No base is ticked" in words_of(refused)
    strange = client.post("/fleet/", {**BOTH, "bases": ["999"]})
    assert "not one you plan" in words_of(strange)
    assert "is no day" in words_of(client.post("/fleet/", {**BOTH, "first_day": "soon", "bases": [farm.hill.base_id]}))
    assert not Fleet.objects.exists()


def test_parts_stand_with_value_gap_and_cause(farm: Farm, both: User) -> None:
    fleet = begun(both)
    Run.objects.filter(base=farm.north).update(state="solving", value=1234.0, bound=1200.0, gap=0.0276)
    Run.objects.filter(base=farm.plain.base).update(state="failed", text="Plainfield has no forecast: import one.")
    response = client_of(both).get(f"/fleets/{fleet.pk}/progress/")
    words = words_of(response)
    assert "Parts ended 1 of 2 Without a plan 1" in words
    assert "Cost, EUR EUR 1,234 Proven least, EUR EUR 1,200 Gap, EUR 2.8 %" in words
    assert "South × failed Plainfield has no forecast: import one." in words
    assert "North ◔ solving EUR 1,234 2.8 %" in words
    assert f"/fortnight/?base={farm.north.pk}" in response.content.decode()
    assert f'hx-get="/fleets/{fleet.pk}/progress/"' in response.content.decode()
    assert "HX-Refresh" not in response


def test_when_the_last_part_has_ended_the_page_loads_anew(farm: Farm, both: User) -> None:
    fleet = begun(both)
    Run.objects.update(state="failed", text="No forecast.")
    fleet_close(fleet_id=fleet.pk)
    response = client_of(both).get(f"/fleets/{fleet.pk}/progress/")
    assert response["HX-Refresh"] == "true"
    assert "hx-get" not in response.content.decode()
    assert "No part came to a plan: each says why." in words_of(response)


def test_what_is_used_twice_and_planned_in_turn_is_said(farm: Farm, both: User) -> None:
    fleet = begun(both)
    Fleet.objects.update(
        clashes=["crane is planned twice."], joined_by=[{"bases": ["North", "South"], "by": ["crane"]}], state="done"
    )
    words = words_of(client_of(both).get(f"/fleet/?fleet={fleet.pk}"))
    assert "Used twice crane is planned twice." in words
    assert "Planned one after the other, because they share crane: North, South." in words


def test_stopping_is_offered_to_who_plans_all_of_it(farm: Farm, both: User) -> None:
    fleet = begun(both)
    client = client_of(both)
    assert "Stop all and keep the best" in words_of(client.get("/fleet/"))
    client.post("/fleet/", {"do": "stop", "fleet": fleet.pk})
    fleet.refresh_from_db()
    assert fleet.state == "stopped"
    Membership.objects.filter(user=both, site=farm.plain).update(role="viewer")
    Fleet.objects.update(state="open", stop_asked=False)
    assert "Stop all" not in words_of(client.get("/fleet/"))


def test_somebody_elses_fleet_and_none_such_answer_alike(farm: Farm, both: User, planner_user: User) -> None:
    fleet = begun(both)
    client = client_of(planner_user)
    assert [client.get(f"/fleets/{pk}/progress/").status_code for pk in (fleet.pk, 999_999)] == [404, 404]
    assert [client.get(f"/fleet/?fleet={pk}").status_code for pk in (fleet.pk, 999_999)] == [404, 404]
    assert "No fleet yet." in words_of(client.get("/fleet/"))
    assert "not of your bases" in words_of(client.post("/fleet/", {"do": "stop", "fleet": fleet.pk}))


def test_a_viewer_sees_and_begins_nothing(farm: Farm, planner_user: User, viewer_user: User) -> None:
    begun(planner_user)
    words = words_of(client_of(viewer_user).get("/fleet/"))
    assert "Parts ended 0 of 1" in words
    assert "Solve them all" not in words
    assert "Stop all" not in words


def test_fortnight_leads_here_where_there_are_several_bases(farm: Farm, both: User, planner_user: User) -> None:
    assert "begin a fleet" in words_of(client_of(both).get("/fortnight/"))
    assert "begin a fleet" not in words_of(client_of(planner_user).get("/fortnight/"))


def test_queries_do_not_grow_with_parts(farm: Farm, both: User) -> None:
    client, fleet = client_of(both), begun(both)
    before = queries_of(lambda: client.get("/fleet/"))
    for n in range(10):
        Run.objects.create(
            base=farm.north, kind="fortnight", state="failed", first_day=TODAY + timedelta(days=n), days=14, fleet=fleet
        )
    assert queries_of(lambda: client.get("/fleet/")) == before
    assert_recorded("page fleet", before)
