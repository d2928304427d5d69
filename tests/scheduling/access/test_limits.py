from __future__ import annotations

from typing import Any

import pytest

from scheduling.access import Limit, LimitSet, check_limit_set, combine


def hub(value: float, op: str = "<=", **changes: Any) -> Limit:
    return Limit("wind", op, value, **changes)


def named(name: str, *limits: Limit, **changes: Any) -> LimitSet:
    return LimitSet(name, limits, **changes)


def test_the_tightest_limit_of_all_steps_rules() -> None:
    stay = combine([named("climb", hub(18)), named("lock", hub(12)), named("hub", hub(10))])
    assert [limit.value for limit in stay.limits] == [10]
    assert stay.name == "climb + lock + hub"


def test_units_are_compared_not_numbers() -> None:
    stay = combine([named("a", hub(12)), named("b", hub(36, unit="km/h"))])
    assert stay.limits[0].kept_value == pytest.approx(10.0)


def test_a_converted_limit_is_exact_at_its_boundary() -> None:
    assert hub(43.2, unit="km/h").kept_value == 12.0
    assert hub(1.4 * 12).kept_value == 16.8


def test_below_beats_at_most_for_the_same_value() -> None:
    for sets in ([named("a", hub(12)), named("b", hub(12, "<"))], [named("b", hub(12, "<")), named("a", hub(12))]):
        assert combine(sets).limits[0].op == "<"


def test_limits_of_another_kind_stay_beside_each_other() -> None:
    gust = Limit("gust", "<=", 15.0, averaging_min=0.05)
    low = hub(8, height=10.0)
    cold, hot = Limit("temperature", ">=", -10.0), Limit("temperature", "<=", 35.0)
    stay = combine([named("a", hub(12), gust, cold), named("b", hub(11), low, hot, Limit("temperature", ">=", -5.0))])
    assert {(one.variable, one.op, one.value) for one in stay.limits} == {
        ("wind", "<=", 11),
        ("wind", "<=", 8),
        ("gust", "<=", 15.0),
        ("temperature", ">=", -5.0),
        ("temperature", "<=", 35.0),
    }


def test_daylight_and_the_larger_gust_factor_are_kept() -> None:
    stay = combine([named("a", hub(12), gust_factor=1.3), named("b", hub(12), daylight=True, gust_factor=1.5)])
    assert (stay.daylight, stay.gust_factor) == (True, 1.5)
    assert combine([named("a", hub(12))]).gust_factor is None


def test_a_limit_below_cut_in_is_refused() -> None:
    with pytest.raises(ValueError, match="limit set 'hub': the wind limit of 2 m/s is below the turbine's cut-in of 3 m/s"):
        check_limit_set(named("hub", hub(2)), 3.0)
    check_limit_set(named("hub", hub(3), hub(2, height=10.0)), 3.0)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (("breeze", "<=", 12), "variable 'breeze' is not known"),
        (("wind", "=<", 12), "op '=<' is not known; choose one of <=, <, >=, >"),
        (("wind", "<=", float("nan")), "finite value"),
        (("wind", "<=", -3), "upper limit above 0"),
        (("wind", ">=", 12), "upper limit above 0"),
        (("wind", "<=", 12, "knots"), "unit 'knots' does not fit; choose one of m/s, km/h, kn, mph"),
        (("wind", "<=", 12, "m/s", None), "say at which height"),
        (("wind", "<=", 12, "m/s", "nacelle"), "height 'nacelle' is not known"),
        (("wind", "<=", 12, "m/s", "hub", 0), "averaging"),
    ],
)
def test_what_is_wrong_is_refused_with_field_and_cure(wrong: tuple[Any, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Limit(*wrong)


def test_a_set_without_limits_or_with_a_gust_below_the_mean_is_refused() -> None:
    with pytest.raises(ValueError, match="names no limit"):
        LimitSet("free", ())
    with pytest.raises(ValueError, match="gust_factor"):
        named("a", hub(12), gust_factor=0.8)
    with pytest.raises(ValueError, match="at least one"):
        combine([])
