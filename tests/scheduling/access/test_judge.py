from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from scheduling.access import Field, Limit, LimitSet, binding_limit, workable

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
