"""Services refuse what forms refuse, in one shape."""

from __future__ import annotations

import pytest

from planner.errors import PlannerError
from planner.models import Vehicle
from planner.services.rows import checked, field_named
from tests.farm import Farm


def test_a_clean_row_comes_back(farm: Farm) -> None:
    van = Vehicle(name="van 3", base=farm.north, seats=4)
    assert checked(van) is van


def test_the_first_broken_rule_is_the_message_and_all_are_kept(farm: Farm) -> None:
    with pytest.raises(PlannerError) as refusal:
        checked(Vehicle(name="", base=farm.north, seats=1))
    assert (refusal.value.field, refusal.value.message) == ("name", "name: This field cannot be blank.")
    assert refusal.value.extra == {"fields": {"name": ["This field cannot be blank."], "": ["seats must be 2 or more."]}}


def test_a_twin_may_be_left_to_the_database(farm: Farm) -> None:
    twin = Vehicle(name="van 1", base=farm.north, seats=3)
    assert checked(twin, alone=False) is twin
    with pytest.raises(PlannerError, match="name: "):
        checked(twin)


def test_a_sentence_that_begins_with_a_field_is_about_that_field() -> None:
    assert field_named("seats must be 2 or more.", {"seats", "name"}) == "seats"
    assert field_named("Give a turbine or a road, not both.", {"turbine", "road"}) == ""
    assert field_named("", {"seats"}) == ""
