"""The climate's page."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.core.cache import cache
from django.test import Client

from planner.models import LimitSet
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import Farm
from tests.page_rows import client_of, words_of
from tests.scheduling.past_rows import steady, stored


def history(farm: Farm, years: int = 3) -> None:
    for n, mps in enumerate((5.0, 20.0, 5.0)[:years]):
        stored(farm.hill, steady(mps, 2017 + n))


def test_weeks_are_drawn_and_told(farm: Farm, viewer_user: User) -> None:
    history(farm)
    tower = LimitSet.objects.get(code="tower")
    response = client_of(viewer_user).get(f"/climate/?site={farm.hill.pk}&limit_set={tower.pk}&stay_min=240")
    words = words_of(response)
    assert response.status_code == 200
    assert response.content.decode().count('class="drawing"') == 1
    assert "From past weather of 2017 to 2019; a week is known in 3 years at most, and quantiles" in words
    assert "Hillside, Inside the tower, stay of 240 min, the working day." in words
    assert "Wind measured at the hub height of 100 m." in words
    assert "week 10: median 77 h, P10 to P90 15 to 77 h" in words
    assert "10 (Mar) 3 51 15 77 77 77 67 %" in words
    assert "June 3" in words or "June 2" in words
    assert "Wait, exponential calms and storms" in words
    assert "never authorises" in words


def test_fewer_than_three_years_show_no_quantile(farm: Farm, viewer_user: User) -> None:
    history(farm, 2)
    words = words_of(client_of(viewer_user).get("/climate/"))
    assert "fewer than 3, so means and ranges only and no quantiles" in words
    assert "P10" not in words
    assert "Least" in words


def test_without_history_nothing_is_drawn(farm: Farm, viewer_user: User) -> None:
    response = client_of(viewer_user).get("/climate/")
    assert "No past weather of this site is stored" in words_of(response)
    assert 'class="drawing"' not in response.content.decode()


def test_a_bad_filter_is_said(farm: Farm, viewer_user: User) -> None:
    history(farm, 1)
    for query, said in (
        ("stay_min=0", "is no stay: give a whole number from 1 to 1440"),
        ("stay_min=900", "does not fit the working day of 07:00 to 18:00"),
        ("hours=night", "is no hours: choose one of working, all"),
        ("limit_set=0", "There is no such limit set"),
    ):
        response = client_of(viewer_user).get(f"/climate/?{query}")
        assert response.status_code == 400, query
        assert said in words_of(response), query
    assert client_of(viewer_user).get("/climate/?stay_min=900&hours=all").status_code == 200


def test_a_stranger_gets_none_of_it(farm: Farm, stranger: User) -> None:
    history(farm)
    assert client_of(stranger).get(f"/climate/?site={farm.hill.pk}").status_code == 404
    assert client_of(stranger).get("/climate/?site=987654").status_code == 404
    assert "No past weather" in words_of(client_of(stranger).get("/climate/"))


def test_who_is_not_logged_in_is_sent_to_the_door(farm: Farm) -> None:
    assert Client().get("/climate/").status_code == 302


def test_many_records_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    cache.clear()
    history(farm, 1)
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get("/climate/"))
    for year in range(2005, 2017):
        stored(farm.hill, steady(5.0, year))
    assert queries_of(lambda: client.get("/climate/")) == before
    assert_recorded("page climate", before)
