"""The wind strip."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from scheduling.drawings.wind import Slot, Stay, WindStrip, describe, scale_top, wind_strip

CALM = Slot(4.0, 5.0, 6.0)
GONE = Slot(None, None, None)
STRIP = WindStrip(
    name="wind-1",
    heading="Wind at Hillside",
    slots=(CALM,) * 8,
    limit_mps=12.0,
    stays=(Stay(2, 6, "H1: 08:00 CEST, down by 10:00 CEST"),),
    ticks=((0, "07:00"), (4, "09:00")),
    zone="CEST",
)


def of_class(svg: str, name: str) -> list[ElementTree.Element]:
    return [one for one in ElementTree.fromstring(svg).iter() if one.get("class") == name]


def test_the_strip_says_its_limit_zone_and_unit() -> None:
    svg = wind_strip(STRIP)
    assert "limit 12 m/s" in svg
    assert ">CEST<" in svg
    assert ">m/s<" in svg
    assert len(of_class(svg, "limit")) == 1


def test_a_stay_spans_its_slots() -> None:
    (stay,) = of_class(wind_strip(STRIP), "stay")
    width = 760 - 46 - 12  # of the plot
    assert float(stay.get("x", "")) == pytest.approx(46 + width * 2 / 8, abs=0.06)
    assert float(stay.get("width", "")) == pytest.approx(width * 4 / 8, abs=0.06)


@pytest.mark.parametrize("unknown", [GONE, Slot(float("nan"), 5.0, 6.0), Slot(4.0, float("inf"), 6.0)])
def test_unknown_wind_is_hatched_and_never_drawn_as_calm(unknown: Slot) -> None:
    svg = wind_strip(replace(STRIP, slots=(CALM,) * 3 + (unknown,) * 2 + (CALM,) * 3))
    assert len(of_class(svg, "unknown")) == 1
    assert len(of_class(svg, "range")) == 2
    assert "nan" not in svg
    assert "inf" not in svg


def test_the_description_counts_what_is_unknown() -> None:
    assert "2 of 8 slots unknown" in describe(replace(STRIP, slots=(CALM,) * 6 + (GONE,) * 2))
    assert describe(replace(STRIP, slots=(GONE,) * 8)).startswith("Wind unknown.")


def test_the_scale_reaches_above_limit_and_wind() -> None:
    svg = wind_strip(replace(STRIP, slots=(Slot(20.0, 24.0, 30.0),) * 8))
    assert ">30<" in svg
    (limit,) = of_class(svg, "limit")
    assert float(limit.get("y1", "")) > 18


def test_no_slots_is_still_a_drawing() -> None:
    assert ElementTree.fromstring(wind_strip(replace(STRIP, slots=(), stays=(), ticks=()))) is not None


def test_two_strips_are_drawn_on_one_scale_where_asked() -> None:
    """A calm strip under the scale of a storm: its line lies lower."""
    calm = replace(STRIP, slots=(CALM,) * 8, stays=())
    own, shared = (of_class(wind_strip(calm, top), "middle")[0].get("points", "") for top in (None, 40.0))
    assert scale_top(calm) < 40
    assert float(shared.split(" ")[0].split(",")[1]) > float(own.split(" ")[0].split(",")[1])
