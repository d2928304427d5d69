"""The fortnight by day and team."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from scheduling.drawings.timeline import Bar, Row, timeline

ROWS = (
    Row("Wed 10 Jun", "Ada, Ben", (Bar(540, 780, 800, "H1 85 % Yearly service", "H1: Yearly service, down by 13:20"),)),
    Row("", "Cleo, Dov", (Bar(480, 600, 600, "H2", "H2"), Bar(660, 900, 900, "H3", "H3"))),
)


def of_class(svg: str, name: str) -> list[ElementTree.Element]:
    return [one for one in ElementTree.fromstring(svg).iter() if one.get("class") == name]


def test_every_visit_has_a_box_and_a_down_by_line() -> None:
    svg = timeline("plan", "Visits", ROWS, "CEST")
    assert len(of_class(svg, "stay")) == 3
    assert len(of_class(svg, "down")) == 3
    assert "Ada, Ben" in svg
    assert "down by 13:20" in svg
    assert "3 visits" in svg


def test_the_clock_reaches_from_the_first_start_to_the_last_down_by() -> None:
    svg = timeline("plan", "Visits", ROWS, "CEST")
    assert ">08:00<" in svg
    assert ">15:00<" in svg
    assert ">07:00<" not in svg


def test_down_by_stands_at_its_own_minute() -> None:
    svg = timeline("plan", "Visits", ROWS, "CEST")
    first = of_class(svg, "down")[0]
    assert float(first.get("x1", "")) == pytest.approx(210 + 780 * (800 - 480) / (60 * 7), abs=0.06)


def test_a_day_is_named_once() -> None:
    assert timeline("plan", "Visits", ROWS, "CEST").count("Wed 10 Jun") == 1


def test_a_long_label_is_cut_to_its_box() -> None:
    short = (Row("Wed", "Ada", (Bar(480, 500, 500, "H1 85 % Yearly service", "all of it"),)),)
    svg = timeline("plan", "Visits", short, "CET")
    assert "Yearly service<" not in svg
    assert "all of it" in svg


def test_no_visits_is_still_a_drawing() -> None:
    assert "0 visits" in timeline("plan", "Visits", (), "CET")
