"""Calls of stays in the admin site: looked through, never typed."""

from __future__ import annotations

from django.contrib.auth.models import User

from planner.cautions import CAUTION
from scheduling.models import StayCall
from scheduling.services.stay_calls import calls_score
from tests.admin_forms import address
from tests.admin_rows import staff
from tests.farm import NOW, Farm
from tests.page_rows import words_of
from tests.scheduling.stay_scenes import called, measured, past_visits


def test_a_call_with_what_was_measured_in_the_zone_of_the_site(farm: Farm, planner_user: User) -> None:
    visit = past_visits(farm, 1)[0]
    call = called(visit, 0.799)
    measured(farm, [9.0] * 18, start=visit.starts_at)
    calls_score(site=farm.hill, first=visit.starts_at, last=visit.ends_at, now=NOW)
    client = staff(planner_user)
    listed = words_of(client.get(address(StayCall, "changelist")))
    shown = words_of(client.get(address(StayCall, "change", call.pk)))
    for words in (listed, shown):
        assert CAUTION in words
        assert "79 %" in words, "never rounded up"
    assert "UTC" not in listed
    assert "H2, Tue 9 Jun 2026, 10:00 CEST" in listed
    assert "10 min wind at hub at most 9.0 m/s, limit <= 12 held" in shown
    assert "gust at hub: not measured" in shown


def test_only_the_service_writes_it_and_a_stranger_finds_none(farm: Farm, planner_user: User, stranger: User) -> None:
    call = called(past_visits(farm, 1)[0], 0.9)
    client = staff(planner_user)
    assert client.get(address(StayCall, "add")).status_code == 403
    assert client.post(address(StayCall, "change", call.pk), {"fitted": "true"}).status_code == 403
    assert client.post(address(StayCall, "delete", call.pk), {"post": "yes"}).status_code == 403
    theirs = staff(stranger)
    assert theirs.get(address(StayCall, "changelist")).context["cl"].result_count == 0
    assert theirs.get(address(StayCall, "change", call.pk)).status_code == 302
