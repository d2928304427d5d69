"""How a run stands, and the fragment that looks again."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from scheduling.views.run_lines import currency_of, run_line
from tests.farm import Farm
from tests.page_rows import build_run, client_of, words_of


def test_an_open_run_shows_its_progress_and_looks_again(farm: Farm, planner_user: User) -> None:
    run = build_run(farm, state="solving", text="", seconds=23.0)
    response = client_of(planner_user).get(f"/runs/{run.pk}/progress/")
    words = words_of(response)
    assert "◔ solving" in words
    assert "Time 23 s of 60 s at most Best so far EUR 12,345 Proven least EUR 12,000 Gap 2.8 %" in words
    assert f'hx-get="/runs/{run.pk}/progress/"' in response.content.decode()
    assert 'max="60.0" value="23.0"' in response.content.decode()
    assert "HX-Refresh" not in response
    assert "Stop and keep the best" in words


def test_an_ended_run_asks_the_page_to_load_anew(farm: Farm, viewer_user: User) -> None:
    run = build_run(farm, state="failed", text="The worker was lost.")
    response = client_of(viewer_user).get(f"/runs/{run.pk}/progress/")
    assert response["HX-Refresh"] == "true"
    assert "hx-get" not in response.content.decode()
    assert "The worker was lost." in words_of(response)


def test_a_run_without_a_plan_yet_shows_unknown_not_zero(farm: Farm) -> None:
    line = run_line(build_run(farm, state="queued", value=None, bound=None, gap=None, seconds=None), "EUR")
    assert (line["value"], line["bound"], line["gap"], line["seconds"], line["done_s"]) == (*["unknown"] * 4, 0.0)


def test_stopping_is_offered_to_planners_only(farm: Farm, viewer_user: User) -> None:
    run = build_run(farm, state="solving")
    assert "Stop and keep" not in words_of(client_of(viewer_user).get(f"/runs/{run.pk}/progress/"))


def test_somebody_elses_run_and_none_such_answer_alike(farm: Farm, stranger: User) -> None:
    run = build_run(farm, state="solving")
    client = client_of(stranger)
    assert [client.get(f"/runs/{pk}/progress/").status_code for pk in (run.pk, 999_999)] == [404, 404]


@pytest.mark.parametrize("page", ["/fortnight/", "/year/"])
def test_the_page_shows_an_open_run_of_its_kind_only(page: str, farm: Farm, viewer_user: User) -> None:
    build_run(farm, state="solving", kind=page.strip("/"))
    assert "◔ solving" in words_of(client_of(viewer_user).get(page))
    other = {"/fortnight/": "/year/", "/year/": "/fortnight/"}[page]
    assert "◔ solving" not in words_of(client_of(viewer_user).get(other))


def test_several_currencies_are_all_named(farm: Farm) -> None:
    farm.plain.base = farm.north
    farm.plain.save()
    assert currency_of(farm.north) == "EUR/AUD"
