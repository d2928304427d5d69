from __future__ import annotations

from typing import Any

import pytest

from scheduling.access import Limit, LimitSet, check_limit_set, combine, limit_name, limit_unit
from scheduling.access.limits import LOWER_ONLY
from scheduling.weather.units import VARIABLES, unit_choices


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
        (("wind", "<=", 12, "m/s", "hub", 10, -1), "clear_after_min is minutes to stay clear, 0 to 1440, not -1"),
        (("wind", "<=", 12, "m/s", "hub", 10, float("nan")), "clear_after_min"),
        (("wind", "<=", 12, "m/s", "hub", 10, 0, 5), "offset_c is for temperature, wbgt and work_share only"),
        (("wbgt", "<=", 28, "degC", None, 10, 0, -5), "offset_c is how much warmer the nacelle is, 0 to 40 degC, not -5"),
        (("wind_chill", ">=", 12), "above 10 degC nobody feels wind chill; give 10 degC or less, not 12"),
        (("wind_chill", "<=", -10), "less of it is worse; give a lower limit"),
        (("visibility", "<=", 1000), "less of it is worse; give a lower limit"),
        (("lightning_distance", "<", 1000), "less of it is worse; give a lower limit"),
        (("rain", ">=", 1), "more of it is worse; give an upper limit"),
        (("rain", "<=", -1), "give 0 mm/h or more, not -1"),
        (("wave_height", "<=", -1.5), "give 0 m or more"),
        (("humidity", "<=", 180), "give a percentage from 0 to 100, not 180"),
        (("dew_point_spread", ">=", 3, "m"), "unit 'm' does not fit; choose one of degC, K, degF"),
        (("work_share", ">=", 50), "metabolic_class goes with a work_share limit"),
        (("work_share", ">=", 50, "%", None, 10, 0, 0, 7), "metabolic_class 7 is not known; give 0"),
        (("wbgt", "<=", 28, "degC", None, 10, 0, 0, 2), "metabolic_class goes with a work_share limit, and only there"),
    ],
)
def test_what_is_wrong_is_refused_with_field_and_cure(wrong: tuple[Any, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Limit(*wrong)


def test_the_longest_time_to_stay_clear_is_kept() -> None:
    for first, second in ((10, 30), (30, 0)):
        found = combine([named("a", hub(12, clear_after_min=first)), named("b", hub(10, clear_after_min=second))]).limits[0]
        assert (found.value, found.clear_after_min) == (10, 30)


def test_other_offsets_and_classes_of_work_stay_beside_each_other() -> None:
    inside, outside = Limit("temperature", "<=", 35, offset_c=8), Limit("temperature", "<=", 38)
    light, heavy = (Limit("work_share", ">=", 50, metabolic_class=n) for n in (1, 3))
    assert set(combine([named("a", inside, light), named("b", outside, heavy)]).limits) == {inside, outside, light, heavy}


@pytest.mark.parametrize(
    ("limit", "name"),
    [
        (hub(12), "10 min wind at hub"),
        (hub(12, height=10.0, clear_after_min=20), "10 min wind at 10 m over the last 20 min"),
        (Limit("gust", "<=", 15, averaging_min=0.05), "gust at hub"),
        (Limit("lightning_distance", ">=", 16, "km", clear_after_min=30), "lightning distance over the last 30 min"),
        (Limit("wind_chill", ">=", -20), "felt cold at hub"),
        (Limit("wbgt", "<=", 28, offset_c=8), "heat (WBGT) in the nacelle, 8 degC warmer than outside"),
        (Limit("work_share", ">=", 50, metabolic_class=2), "work share in the heat, work of class 2, people not used to it"),
        (Limit("temperature", ">=", -15), "temperature"),
    ],
)
def test_limits_in_words(limit: Limit, name: str) -> None:
    assert limit_name(limit) == name


@pytest.mark.parametrize("variable", VARIABLES)
def test_every_variable_has_a_name_for_people_and_a_unit(variable: str) -> None:
    more = {"metabolic_class": 2} if variable == "work_share" else {}
    limit = Limit(variable, ">=" if variable in LOWER_ONLY else "<=", 8.0, **more)  # type: ignore[arg-type]
    assert "_" not in limit_name(limit)
    assert limit_unit(limit) in unit_choices(variable)


def test_a_set_without_limits_or_with_a_gust_below_the_mean_is_refused() -> None:
    with pytest.raises(ValueError, match="names no limit"):
        LimitSet("free", ())
    with pytest.raises(ValueError, match="gust_factor"):
        named("a", hub(12), gust_factor=0.8)
    with pytest.raises(ValueError, match="at least one"):
        combine([])
