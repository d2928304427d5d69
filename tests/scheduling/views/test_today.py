"""The morning's page."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine
from django.contrib.auth.models import User

from planner.cautions import STALE
from planner.models import Absence, OnCall, Technician, Turbine
from scheduling.models import Call, Plan
from tests import farm as rows
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_forecast, build_order, build_plan, build_visit, client_of, words_of
from workorders.models import Order


@pytest.fixture
def plan(farm: Farm) -> Plan:
    """Published: Ada and Ben change a lamp at H2 from 10:00 to 13:00 local."""
    made = build_plan(farm)
    build_visit(made, farm, build_order(farm.h2, farm, work="lamp"), start=time(10), hours=3)
    return made


def test_a_calm_day_is_go_with_its_times_limit_and_forecast_age(farm: Farm, plan: Plan, viewer_user: User) -> None:
    build_forecast(farm.hill, wind_mps=4)
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "North, Wed 10 Jun 2026 seen at 08:00 CEST" in words
    card = words[words.index("▲ go") : words.index("Wind Hillside")]
    for told in (
        "H2 Hillside",
        "Ada, Ben",
        "HILL-1",
        "Planned 10:00 CEST",
        "First safe start",
        "Everybody down by",
        "Forecast 3 h 00 min old",
    ):
        assert told in card
    assert "the limit is <= " in card


def test_wind_over_the_limit_is_no_go_without_times(farm: Farm, plan: Plan, viewer_user: User) -> None:
    build_forecast(farm.hill, wind_mps=18)
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "■ no-go" in words
    assert "▲ go" not in words
    assert "First safe start" not in words
    assert "limit 12 m/s" in words


@pytest.mark.parametrize("age_h", [12.1, 40])
def test_a_stale_forecast_is_never_shown_as_workable(age_h: float, farm: Farm, plan: Plan, viewer_user: User) -> None:
    build_forecast(farm.hill, issued_at=NOW - timedelta(hours=age_h), wind_mps=4)
    response = client_of(viewer_user).get("/today/")
    words = words_of(response)
    assert STALE in words
    assert "▲ go" not in words
    assert "◆ wait" not in words
    assert "First safe start" not in words
    assert 'class="drawing"' not in response.content.decode()


def test_no_forecast_is_never_workable_and_says_what_to_do(plan: Plan, viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "■ no-go" in words
    assert "▲ go" not in words
    assert "No forecast yet for Hillside: import one" in words


def test_a_forecast_with_holes_is_drawn_as_unknown(farm: Farm, plan: Plan, viewer_user: User) -> None:
    build_forecast(farm.hill, wind_mps=4, hours=8)  # ends at 13:00 local
    page = client_of(viewer_user).get("/today/").content.decode()
    assert 'class="unknown"' in page
    assert "slots unknown" in page


def test_who_is_where(farm: Farm, plan: Plan, viewer_user: User) -> None:
    Absence.objects.create(technician=farm.people["Dov"], first_day=TODAY, last_day=date(2026, 6, 12), reason="course")
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "Ada H2 from 10:00 CEST, down by 13:00 CEST" in words
    assert "Cleo on shift, no visit planned" in words
    assert "Dov away until Fri 12 Jun 2026 (course)" in words
    Technician.objects.filter(name="Cleo").update(contractor=True)
    OnCall.objects.create(technician=farm.people["Ada"], first_day=date(2026, 6, 13), last_day=date(2026, 6, 13))
    assert "Cleo not hired for this day" in words_of(client_of(viewer_user).get("/today/"))
    assert "Ada not on shift, on call in the night" in words_of(client_of(viewer_user).get("/today/?day=2026-06-13"))


def test_what_is_overdue_and_what_it_stops(farm: Farm, viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "H1: lift shut." in words
    assert "● overdue 21 d over" in words
    assert "112, meeting point at the gate" in words


def test_without_a_plan_it_says_where_to_get_one(farm: Farm, viewer_user: User) -> None:
    assert "No published plan covers this day: publish one under Fortnight ." in words_of(client_of(viewer_user).get("/today/"))


def test_a_day_without_visits(farm: Farm, plan: Plan, viewer_user: User) -> None:
    assert "No visit at your sites is planned for this day." in words_of(client_of(viewer_user).get("/today/?day=2026-06-12"))


@pytest.mark.parametrize("day", ["yesterday", "2026-02-31", "0001-01-01", "9999-12-31"])
def test_a_bad_day_is_a_sentence_and_today_is_shown(day: str, viewer_user: User, farm: Farm) -> None:
    response = client_of(viewer_user).get(f"/today/?day={day}")
    assert response.status_code == 400
    assert "such as 2026-06-10" in words_of(response)
    assert "North, Wed 10 Jun 2026" in words_of(response)


def test_the_day_of_a_clock_change_is_told_in_the_right_zone(farm: Farm, viewer_user: User) -> None:
    """Clocks go back on 25 October 2026: 08:00 at HILL is 07:00 UTC on that day, and 06:00 UTC on the day before."""
    sunday = date(2026, 10, 25)
    made = build_plan(farm, first_day=sunday - timedelta(days=1), last_day=sunday + timedelta(days=1))
    order = build_order(farm.h2, farm, work="lamp")
    before = build_visit(made, farm, order, day=sunday - timedelta(days=1), start=time(8))
    after = build_visit(made, farm, order, day=sunday, start=time(8))
    assert (before.starts_at.hour, after.starts_at.hour) == (6, 7)
    with time_machine.travel(datetime(2026, 10, 25, 5, 30, tzinfo=UTC), tick=False):
        client = client_of(viewer_user)
        words = words_of(client.get("/today/"))
        assert "Sun 25 Oct 2026 seen at 06:30 CET" in words
        assert "Ada H2 from 08:00 CET, down by 12:00 CET" in words
        assert "Ada H2 from 08:00 CEST, down by 12:00 CEST" in words_of(client.get("/today/?day=2026-10-24"))


def test_just_after_local_midnight_it_is_the_next_day(farm: Farm, viewer_user: User) -> None:
    with time_machine.travel(datetime(2026, 6, 10, 22, 30, tzinfo=UTC), tick=False):
        assert "North, Thu 11 Jun 2026 seen at 00:30 CEST" in words_of(client_of(viewer_user).get("/today/"))


def test_visits_of_a_site_that_is_not_yours_are_not_shown(farm: Farm, plan: Plan, viewer_user: User) -> None:
    farm.plain.base = farm.north
    farm.plain.save()
    secret = build_order(farm.p1, farm, "PLAIN-1", work="lamp")
    build_visit(plan, farm, secret, start=time(14), who="Cleo")
    words = words_of(client_of(viewer_user).get("/today/"))
    assert "PLAIN-1" not in words
    assert "P1" not in words
    assert "HILL-1" in words
    assert "Cleo at a site that is not yours" in words


@pytest.mark.parametrize(("role", "may"), [("planner", True), ("lead", True), ("technician", False), ("viewer", False)])
def test_calls_are_kept_by_who_may(role: str, may: bool, farm: Farm, plan: Plan) -> None:
    client = client_of(rows.build_user(role, role, farm.hill))
    assert ("Keep these calls as said" in words_of(client.get("/today/"))) is may
    assert not Call.objects.exists()
    response = client.post("/today/", {"do": "say", "base": farm.north.pk, "day": "2026-06-10"}, follow=True)
    assert Call.objects.count() == (1 if may else 0)
    assert response.status_code == (200 if may else 403)
    assert ("1 call of Wed 10 Jun 2026 kept." in words_of(response)) is may


@pytest.mark.parametrize(("role", "may"), [("planner", True), ("lead", True), ("technician", False), ("viewer", False)])
def test_teams_are_marked_as_told_by_who_may(role: str, may: bool, farm: Farm, plan: Plan) -> None:
    client = client_of(rows.build_user(role, role, farm.hill))
    assert ("The teams of this day were told" in words_of(client.get("/today/"))) is may
    response = client.post("/today/", {"do": "tell", "base": farm.north.pk, "day": "2026-06-10"}, follow=True)
    assert response.status_code == (200 if may else 403)
    assert ("1 visit of Wed 10 Jun 2026 marked as told." in words_of(response)) is may
    assert plan.visits.filter(told_at__isnull=False).exists() is may


def test_a_stranger_sees_the_other_base_only(farm: Farm, plan: Plan, stranger: User) -> None:
    words = words_of(client_of(stranger).get("/today/"))
    assert "South, Wed 10 Jun 2026 seen at 14:00 AWST" in words
    assert "HILL-1" not in words


def test_many_turbines_cost_as_many_queries_as_few(farm: Farm, plan: Plan, viewer_user: User) -> None:
    build_forecast(farm.hill)
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get("/today/"))
    more: list[Turbine] = [rows.build_turbine(farm.hill, f"H{n}", farm.h2.type, n, 100) for n in range(4, 12)]
    for n, turbine in enumerate(more):
        order: Order = build_order(turbine, farm, f"HILL-{turbine.code}", work="lamp")
        build_visit(plan, farm, order, start=time(10 + n % 3))
    assert queries_of(lambda: client.get("/today/")) == before
    assert_recorded("page today", before)
