"""The usual values of orders, by class."""

from __future__ import annotations

from planner.worth import LATE_A_DAY, LEFT_OUT, effective
from workorders.choices import Klass


def test_every_class_of_order_has_its_usual_values() -> None:
    assert set(LEFT_OUT) == set(LATE_A_DAY) == set(Klass.values)


def test_own_values_take_the_place_of_usual_ones() -> None:
    assert effective({"minor": 5}, {"minor": 700, "gate": 6_000}) == {"minor": 5.0, "gate": 6_000.0}
