"""The finishing curve."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

from scheduling.drawings.finish import Curve, describe, finish_curve, label_places

MEAN, LOW = Curve("mean of years", "mean", (0.0, 0.5, 1.0)), Curve("9 of 10 years", "low", (0.0, 0.3, 0.98))


def test_each_curve_is_named_and_drawn_in_its_own_way() -> None:
    svg = finish_curve("finish", "Done by when", (MEAN, LOW), ((0, "Jan"), (2, "Mar")))
    assert "mean of years" in svg
    assert {"curve mean", "curve low"} <= {one.get("class") for one in ElementTree.fromstring(svg).iter()}


def test_a_curve_rises_from_left_to_right() -> None:
    svg = finish_curve("finish", "Done by when", (MEAN,), ())
    (line,) = [one for one in ElementTree.fromstring(svg).iter() if one.get("class") == "curve mean"]
    points = [tuple(map(float, point.split(","))) for point in line.get("points", "").split()]
    assert all(b[0] > a[0] and b[1] < a[1] for a, b in pairwise(points))


def test_names_never_stand_on_each_other() -> None:
    places = label_places((MEAN, LOW, Curve("third", "plan", (0.97,))))
    assert all(abs(a - b) >= 14 for n, a in enumerate(places) for b in places[n + 1 :])


def test_the_ends_are_said_in_words() -> None:
    assert describe((MEAN, LOW)) == "mean of years: 100 % at the end. 9 of 10 years: 98 % at the end.".replace(" %", "%")


def test_no_curve_is_still_a_drawing() -> None:
    assert ElementTree.fromstring(finish_curve("finish", "Done by when", (Curve("none", "plan", ()),), ())) is not None
