"""The reliability diagram."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from scheduling.drawings.reliability import LEFT, PLOT, TOP, Point, describe, reliability_diagram

MANY = Point(0.7, 0.9, 63, 0.79, 0.81, 0.70, 0.89)
FEW = Point(0.9, 1.0, 5, None, None, None, None)
NONE = Point(0.0, 0.3, 0, None, None, None, None)


def parts(svg: str, name: str) -> list[ElementTree.Element]:
    """Elements of a kind."""
    return [one for one in ElementTree.fromstring(svg).iter() if one.tag.endswith(f"}}{name}")]


def test_a_point_stands_at_its_mean_call_and_share_with_its_interval() -> None:
    svg = reliability_diagram("r", "Calls", (MANY, FEW, NONE))
    (disc,) = parts(svg, "circle")
    assert float(disc.get("cx", "")) == pytest.approx(LEFT + 0.79 * PLOT, abs=0.1)
    assert float(disc.get("cy", "")) == pytest.approx(TOP + 0.19 * PLOT, abs=0.1)
    bars = [one for one in parts(svg, "line") if one.get("class") == "curve"]
    assert len(bars) == 3
    assert sorted({float(one.get("y1", "")) for one in bars}) == pytest.approx([TOP + 0.11 * PLOT, TOP + 0.30 * PLOT], abs=0.1)


def test_too_few_calls_are_counted_and_not_drawn_as_a_share() -> None:
    svg = reliability_diagram("r", "Calls", (FEW,))
    assert parts(svg, "circle") == []
    assert ">5<" in svg
    assert "too few for a share" in svg


def test_it_is_told_in_words_for_who_cannot_see_it() -> None:
    assert describe((MANY, FEW, NONE)) == (
        "Called 70 % to 90 %: 63 calls, 81 % could be done, mean call 79 %. Called 90 % to 100 %: 5 calls, too few for a share."
    )
    assert describe((NONE,)) == "No call has an outcome yet."


def test_nothing_to_draw_is_still_a_drawing() -> None:
    assert parts(reliability_diagram("r", "Calls", ()), "circle") == []
