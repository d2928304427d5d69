"""The round by turbine and week."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from scheduling.drawings.rounds import Cell, WeekColumn, round_grid

WEEK = WeekColumn("24", "Jun 2026", load_h=10, capacity_h=40, workable_share=0.83, fits_share=1.0)
WEEKS = (WEEK, replace(WEEK, label="25", month="", load_h=50), replace(WEEK, label="26", month="", workable_share=None))
CELLS = {("H1", 0): Cell("Y", "H1: Yearly service"), ("H2", 2): Cell("2", "H2: two of them", statutory=True)}


def classes(svg: str) -> list[str]:
    return [one.get("class", "") for one in ElementTree.fromstring(svg).iter()]


def test_cells_carry_their_mark_and_sentence() -> None:
    svg = round_grid("round", "Round", ("H1", "H2"), WEEKS, CELLS)
    assert classes(svg).count("cell") == 1
    assert classes(svg).count("cell legal") == 1
    assert "H1: Yearly service" in svg


def test_an_overfull_week_is_told_by_shape_not_colour() -> None:
    svg = round_grid("round", "Round", ("H1", "H2"), WEEKS, CELLS)
    assert classes(svg).count("load over") == 1
    assert ">!<" in svg
    assert "url(#round-hatch)" in svg
    assert "1 weeks hold more than fits" in svg


def test_load_stands_against_capacity_on_one_scale() -> None:
    bars = [
        one
        for one in ElementTree.fromstring(round_grid("r", "R", ("H1",), WEEKS, {})).iter()
        if one.get("class") in ("load", "room")
    ]
    load, room = (float(one.get("height", "")) for one in bars[:2])
    assert load / room == pytest.approx(10 / 40)


def test_an_unknown_climate_is_a_question_mark() -> None:
    svg = round_grid("round", "Round", ("H1",), WEEKS, {})
    assert ">?<" in svg
    assert ">83<" in svg


def test_weeks_without_load_or_capacity_draw() -> None:
    empty = (replace(WEEK, load_h=0, capacity_h=0),)
    assert ElementTree.fromstring(round_grid("round", "Round", (), empty, {})) is not None
