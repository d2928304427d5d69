"""A plan's rows and drawing."""

from __future__ import annotations

from datetime import date, time

from scheduling.fortnight.rules import PARTS
from scheduling.views.plan_lines import PART_WORDS, cost_lines, drawn, own_visits, visit_line
from tests.farm import Farm
from tests.page_rows import build_order, build_plan, build_visit


def test_every_part_of_the_cost_has_plain_words() -> None:
    assert set(PART_WORDS) == set(PARTS)
    assert not any("_" in words for words in PART_WORDS.values())


def test_a_fortnight_with_a_clock_change_names_both_zones(farm: Farm) -> None:
    """Clocks go back on 25 October 2026; each visit stands at its own local hour."""
    plan = build_plan(farm, first_day=date(2026, 10, 23), last_day=date(2026, 11, 5))
    order = build_order(farm.h2, farm)
    for day in (date(2026, 10, 23), date(2026, 10, 26)):
        build_visit(plan, farm, order, day=day, start=time(8))
    visits = own_visits(plan, [farm.hill])
    assert [visit_line(visit, farm.hill.zone)["start"] for visit in visits] == ["08:00 CEST", "08:00 CET"]
    drawing = drawn(visits, farm.hill.zone)
    assert ">CEST and CET<" in drawing
    starts = {line.split('x="')[1].split('"')[0] for line in drawing.split("<rect")[1:] if 'class="stay"' in line}
    assert len(starts) == 1  # both at 08:00 of the clock on the wall


def test_teams_of_a_day_have_a_row_each(farm: Farm) -> None:
    plan = build_plan(farm)
    build_visit(plan, farm, build_order(farm.h1, farm, "HILL-1"), who="Ada Ben")
    build_visit(plan, farm, build_order(farm.h2, farm, "HILL-2"), who="Cleo Dov")
    drawing = drawn(own_visits(plan, [farm.hill]), farm.hill.zone)
    assert drawing.count("Wed 10 Jun") == 1
    assert ">Ada, Ben<" in drawing
    assert ">Cleo, Dov<" in drawing


def test_no_visits_no_drawing(farm: Farm) -> None:
    assert drawn([], farm.hill.zone) == ""


def test_the_largest_part_comes_first_and_nothing_is_not_told(farm: Farm) -> None:
    lines = cost_lines({**build_plan(farm).parts, "travel": 0.0}, "EUR", PART_WORDS)
    assert [line["name"] for line in lines] == ["left out", "lost energy", "lateness"]
