from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from scheduling.access import Field, Limit, LimitSet, binding_limit, binding_limits, workable

NAN = float("nan")
MEAN = LimitSet("climb", (Limit("wind", "<=", 12.0),))
GUST = LimitSet("roof", (Limit("wind", "<=", 12.0), Limit("gust", "<=", 15.0, averaging_min=0.05)))


def at_hub(*rows: list[float], averaging_min: float = 10.0) -> Field:
    return Field(np.array(rows), "hub", averaging_min)


def test_missing_never_passes() -> None:
    assert workable({"wind": at_hub([6, 6, NAN, 6])}, MEAN).tolist() == [[True, True, False, True]]


@pytest.mark.parametrize(("op", "passes"), [("<=", True), ("<", False)])
def test_the_limit_itself_passes_as_stated(op: str, passes: bool) -> None:
    stated = LimitSet("base", (Limit("wind", op, 25.0),))
    assert workable({"wind": at_hub([25.0])}, stated).tolist() == [[passes]]


def test_the_limit_itself_passes_in_single_precision_too() -> None:
    stated = LimitSet("base", (Limit("wind", "<=", 12.1),))
    assert workable({"wind": Field(np.array([[12.1]], dtype=np.float32), "hub", 10.0)}, stated).all()


def test_an_absent_variable_blocks() -> None:
    assert not workable({"wind": at_hub([6.0])}, GUST).any()
    assert not workable({"gust": at_hub([6.0], averaging_min=0.05)}, MEAN).any()
    assert not workable({}, MEAN).any()


def test_a_stated_gust_factor_stands_in_for_the_gust() -> None:
    stated = LimitSet("roof", GUST.limits, gust_factor=1.5)
    assert workable({"wind": at_hub([9.9, 10.1])}, stated).tolist() == [[True, False]]


def test_a_known_gust_is_used_before_the_factor() -> None:
    stated = LimitSet("roof", GUST.limits, gust_factor=1.1)
    fields = {"wind": at_hub([9.0]), "gust": at_hub([15.5], averaging_min=0.05)}
    assert not workable(fields, stated).any()


def test_wind_at_another_height_is_refused_not_compared() -> None:
    with pytest.raises(ValueError, match="the limit of 'climb' is at hub height, the weather at 10 m"):
        workable({"wind": Field(np.array([[6.0]]), 10.0, 10.0)}, MEAN)


def test_temperature_has_no_height() -> None:
    cold = LimitSet("resin", (Limit("temperature", ">=", 15.0), Limit("temperature", "<=", 59.0, unit="degF")))
    fields = {"temperature": Field(np.array([[14.9, 15.0, 15.1, NAN]]), 2.0, 60.0)}
    assert workable(fields, cold).tolist() == [[False, True, False, False]]


def test_an_hourly_mean_is_raised_to_its_ten_minute_peaks() -> None:
    assert workable({"wind": at_hub([11.0, 11.1], averaging_min=60.0)}, MEAN).tolist() == [[True, False]]
    quiet = LimitSet("climb", MEAN.limits, turbulence=0.0)
    assert workable({"wind": at_hub([11.9], averaging_min=60.0)}, quiet).all()


def test_daylight() -> None:
    day = LimitSet("roof", MEAN.limits, daylight=True)
    fields = {"wind": at_hub([6.0, 6.0], [6.0, 13.0])}
    assert workable(fields, day, np.array([False, True])).tolist() == [[False, True], [False, False]]
    with pytest.raises(ValueError, match="asks for daylight"):
        workable(fields, day)
    assert workable(fields, MEAN)[0].all()


def test_turbines_and_single_members_broadcast() -> None:
    wind = Field(np.full((3, 4, 5), 6.0), "hub", 10.0)
    cold = Field(np.full((1, 5), -30.0), 2.0, 10.0)
    stated = LimitSet("a", (Limit("wind", "<=", 12.0), Limit("temperature", ">=", -20.0)))
    good = workable({"wind": wind, "temperature": cold}, stated)
    assert good.shape == (3, 4, 5)
    assert not good.any()


def binding(fields: dict[str, Field], stated: LimitSet, **more: Any) -> tuple[str, float, float] | None:
    found = binding_limit(fields, stated, 0, **more)
    return None if found is None else (found.variable, found.value, found.limit)


def test_nothing_binds_in_a_calm() -> None:
    assert binding({"wind": at_hub([6.0])}, MEAN) is None


def test_the_limit_that_blocks_most_members_binds() -> None:
    fields = {"wind": at_hub([13.0], [11.0], [11.5]), "gust": at_hub([16.0], [15.5], [14.0], averaging_min=0.05)}
    assert binding(fields, GUST) == ("gust", 15.5, 15.0)
    found = binding_limit(fields, GUST, 0)
    assert found is not None
    assert found.blocked_share == pytest.approx(2 / 3)


def test_of_equals_the_one_passed_by_most_binds() -> None:
    fields = {"wind": at_hub([18.0]), "gust": at_hub([16.0], averaging_min=0.05)}
    assert binding(fields, GUST) == ("wind", 18.0, 12.0)


def test_the_unknown_and_the_dark_bind() -> None:
    found = binding_limit({"wind": at_hub([30.0])}, GUST, 0)
    assert found is not None
    assert found.variable == "gust"
    assert np.isnan(found.value)
    day = LimitSet("roof", MEAN.limits, daylight=True)
    dark = binding_limit({"wind": at_hub([6.0])}, day, 0, daylight=np.array([False]))
    assert dark is not None
    assert dark.variable == "daylight"


def test_what_binds_is_told_by_name_and_unit() -> None:
    found = binding_limit({"wind": at_hub([6.0]), "gust": at_hub([16.0], averaging_min=0.05)}, GUST, 0)
    assert found is not None
    assert (found.name, found.unit, found.value, found.op, found.limit) == ("gust at hub", "m/s", 16.0, "<=", 15.0)


def by_hand(fields: dict[str, Field], stated: LimitSet, slot: int) -> tuple[str, float, float] | None:
    """The binding limit of one slot, looked at limit by limit and member by member."""
    best: tuple[float, float, str, float] | None = None
    for limit in stated.limits:
        here = [float(row[slot]) for row in fields[limit.variable].values]
        known = sorted(value for value in here if value == value)
        middle = float(np.median(known)) if known else NAN
        share = sum(not value <= limit.value for value in here) / len(here)
        over = (middle - limit.value) / max(abs(limit.value), 1.0) if known else float("inf")
        if share and (best is None or (share, over) > best[:2]):
            best = (share, over, limit.variable, middle)
    return None if best is None else (best[2], best[3], best[0])


def test_every_slot_has_its_binding_limit_as_found_by_hand() -> None:
    rng = np.random.default_rng(11)
    for members in (1, 2, 5):
        wind, gust = rng.uniform(8, 15, (members, 60)), rng.uniform(10, 19, (members, 60))
        wind[rng.random(wind.shape) < 0.2] = NAN
        fields = {"wind": Field(wind, "hub", 10.0), "gust": Field(gust, "hub", 0.05)}
        found = binding_limits(fields, GUST)
        for slot in range(60):
            one, expected = found.at(slot), by_hand(fields, GUST, slot)
            assert (one is None) == (expected is None)
            if one is not None and expected is not None:
                assert (one.variable, one.value, one.blocked_share) == pytest.approx(expected, nan_ok=True)


def test_binding_limits_of_many_turbines_at_once() -> None:
    rng = np.random.default_rng(3)
    wind, cold = rng.uniform(5, 20, (4, 6, 12)), rng.uniform(-25, 5, (1, 12))
    stated = LimitSet("a", (Limit("wind", "<=", 12.0), Limit("temperature", ">=", -15.0)), daylight=True)
    light = np.arange(12) < 9
    fields = {"wind": Field(wind, "hub", 10.0), "temperature": Field(cold, None, 60.0)}
    found = binding_limits(fields, stated, light)
    assert found.index.shape == (4, 12)
    for turbine in range(4):
        alone = binding_limits({**fields, "wind": Field(wind[turbine], "hub", 10.0)}, stated, light)
        assert [str(found.at(turbine, slot)) for slot in range(12)] == [str(alone.at(slot)) for slot in range(12)]
    last = found.at(0, 11)
    assert last is not None
    assert (last.variable, last.name) == ("daylight", "daylight")
