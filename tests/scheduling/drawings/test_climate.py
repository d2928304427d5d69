"""The climate strip."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

from scheduling.drawings.climate import ClimateStrip, Week, climate_strip, describe


def strip(*weeks: Week) -> ClimateStrip:
    return ClimateStrip("climate", "Workable hours <b>", "P10 to P90", "median", weeks)


ONE = Week(1, 10.0, 20.0, 30.0, 70.0, "Jan")
TWO = Week(2, 40.0, 50.0, 60.0, 70.0, "")
NONE = Week(3, None, None, None, 70.0, "")


def test_it_is_one_drawing_with_its_words() -> None:
    root = ElementTree.fromstring(climate_strip(strip(ONE, TWO, NONE)))
    told = [element.text for element in root.iter("{http://www.w3.org/2000/svg}title")]
    assert told == [
        "Workable hours <b>",
        "week 1: median 20 h, P10 to P90 10 to 30 h",
        "week 2: median 50 h, P10 to P90 40 to 60 h",
        "week 3: unknown",
    ]
    assert len(root.findall(".//{http://www.w3.org/2000/svg}rect[@class='load']")) == 2
    assert len(root.findall(".//{http://www.w3.org/2000/svg}rect[@class='unknown']")) == 1


def test_it_is_told_in_words() -> None:
    assert describe(strip(ONE, TWO, NONE)) == (
        "Workable hours a week (median): most in week 2 with 50 h, least in week 1 with 20 h. Unknown: 1 of 3 weeks."
    )
    assert describe(strip(NONE)) == "Workable hours unknown in every week."


def test_a_bar_stays_inside_the_drawing() -> None:
    root = ElementTree.fromstring(climate_strip(strip(Week(1, 0.0, 168.0, 168.0, 168.0, "Jan"))))
    (bar,) = root.findall(".//{http://www.w3.org/2000/svg}rect[@class='load']")
    assert float(bar.get("y", "0")) >= 22
    assert float(bar.get("y", "0")) + float(bar.get("height", "0")) <= 22 + 170 + 0.2
