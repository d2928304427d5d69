"""The year's page."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from scheduling.models import RoundItem, Run
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import Farm
from tests.page_rows import MONDAY, build_round, client_of, words_of


def test_the_round_is_drawn_and_told_by_month(farm: Farm, viewer_user: User) -> None:
    build_round(farm)
    response = client_of(viewer_user).get("/year/")
    words = words_of(response)
    assert response.content.decode().count('class="drawing"') == 2
    assert "H1, week of 2026-06-08: Yearly service, due 2026-06-20" in words
    assert "June 2026 2 2 36 h 80 h" in words
    assert "Only 2 past weather years are known." in words


def test_how_sure_it_is(farm: Farm, viewer_user: User) -> None:
    build_round(farm)
    words = words_of(client_of(viewer_user).get("/year/"))
    for told in (
        "42 MWh in the mean",
        "Sun 28 Jun 2026 in half of the past years",
        "not within this year",
        "lost energy EUR 2,490",
    ):
        assert told in words


def test_left_out_and_why(farm: Farm, viewer_user: User) -> None:
    build_round(farm)
    told = "H3 Yearly service Sat 20 Jun 2026 Sun 26 Jul 2026 No week has room."
    assert told in words_of(client_of(viewer_user).get("/year/"))


def test_nothing_laid_says_what_to_do(farm: Farm, viewer_user: User, planner_user: User) -> None:
    assert "No round yet. A planner of this base lays the first one." in words_of(client_of(viewer_user).get("/year/"))
    assert "import past weather" in words_of(client_of(planner_user).get("/year/"))


def test_without_weather_history_the_climate_is_unknown(farm: Farm, viewer_user: User) -> None:
    made = build_round(farm)
    Run.objects.filter(pk=made.run_id).update(problem={"weeks": [{"monday": MONDAY.isoformat()}], "workable_share": {}})
    made.about = {**made.about, "history": 0}
    made.save()
    words = words_of(client_of(viewer_user).get("/year/"))
    assert "Past weather years none known" in words
    assert "MWh" not in words
    assert "June 2026 1 1 24 h 20 h unknown unknown" in words
    assert "9 of 10 years" not in words
    assert "as laid" in words


@pytest.mark.parametrize(("days", "said"), [("7", "days is 7"), ("9999", "days is 9999")])
def test_a_bad_length_is_a_sentence(days: str, said: str, planner_user: User) -> None:
    response = client_of(planner_user).post("/year/", {"do": "solve", "first_day": "2026-06-10", "days": days, "seconds": "20"})
    assert response.status_code == 400
    assert said in words_of(response)


def test_a_viewer_lays_no_round(farm: Farm, viewer_user: User) -> None:
    form = {"do": "solve", "first_day": "2026-06-10", "days": "364", "seconds": "20"}
    assert client_of(viewer_user).post("/year/", form).status_code == 403
    assert not Run.objects.exists()


def test_a_stranger_sees_nothing_of_it(farm: Farm, stranger: User) -> None:
    build_round(farm)
    assert "Yearly service" not in words_of(client_of(stranger).get("/year/"))


def test_many_items_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    made = build_round(farm)
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get("/year/"))
    item = made.items.first()
    for _ in range(30):
        item.pk = None
        item.save()
    assert RoundItem.objects.count() == 33
    assert queries_of(lambda: client.get("/year/")) == before
    assert_recorded("page year", before)
