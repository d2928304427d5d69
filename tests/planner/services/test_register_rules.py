"""Rules that look at more than the row, without a form around them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.core.exceptions import ValidationError

from planner.models import Closure, Component, Interval, Limit, LimitSet, TurbineType
from planner.services import register_rules as rules
from tests.farm import Farm


def refused(check: Callable[[], None]) -> dict[str, list[str]]:
    """field -> sentences."""
    with pytest.raises(ValidationError) as error:
        check()
    return error.value.message_dict


def test_a_wind_limit_lies_at_or_above_cut_in(farm: Farm) -> None:
    limits = LimitSet.objects.get(code="tower")
    low = Limit(limit_set=limits, quantity="wind", value=2.9)
    assert refused(lambda: rules.limit_check(low)) == {
        "value": ["2.9 m/s lies below cut-in (3 m/s): check the unit, limits are in m/s at the hub."]
    }
    rules.limit_check(Limit(limit_set=limits, quantity="wind", value=3))
    rules.limit_check(Limit(limit_set=limits, quantity="temperature", value=-10))


def test_without_any_type_there_is_no_cut_in_to_lie_below(db: None) -> None:
    rules.limit_check(Limit(quantity="wind", value=0.5))


def test_a_limit_set_newly_chosen_is_held_against_the_types_of_today(farm: Farm) -> None:
    lamp, blade = farm.procedures["lamp"], LimitSet.objects.get(code="blade")
    assert lamp.limit_set != blade
    TurbineType.objects.update(cut_in_mps=8.5)
    rules.procedure_check(lamp)
    lamp.limit_set = blade
    assert refused(lambda: rules.procedure_check(lamp)) == {
        "limit_set": [f"In {blade}, 8 m/s lies below cut-in (8.5 m/s): check the unit, limits are in m/s at the hub."]
    }
    TurbineType.objects.update(cut_in_mps=8)
    rules.procedure_check(lamp)


def test_a_lift_ends_below_every_hub_of_its_type(farm: Farm) -> None:
    kind = farm.h1.type
    kind.lift_to_m = 100.5
    assert list(refused(lambda: rules.turbine_type_check(kind))) == ["lift_to_m"]
    kind.lift_to_m = 100
    rules.turbine_type_check(kind)


def test_a_tree_has_no_rings(farm: Farm) -> None:
    blade = farm.blades[0]
    rotor = blade.parent
    assert rotor is not None
    rotor.parent = blade
    assert list(refused(lambda: rules.component_check(rotor))) == ["parent"]
    rules.component_check(Component.objects.get(pk=blade.pk))


def test_a_closure_names_a_turbine_of_its_site(farm: Farm) -> None:
    assert list(refused(lambda: rules.closure_check(Closure(site=farm.hill, turbine=farm.p1)))) == ["turbine"]
    rules.closure_check(Closure(site=farm.hill))


def test_intervals_absorb_in_one_direction(farm: Farm) -> None:
    small, large = farm.intervals["svc-6"], farm.intervals["svc-12"]
    assert list(refused(lambda: rules.absorbs_check(small, [large]))) == ["absorbs"]
    assert list(refused(lambda: rules.absorbs_check(small, [small]))) == ["absorbs"]
    rules.absorbs_check(large, [small])
    rules.absorbs_check(Interval(code="new"), [large])
