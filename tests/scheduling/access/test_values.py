"""What limits are held against where the forecast does not name it, and limits that ask to stay clear for a time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from scheduling.access import Field, Limit, LimitSet, judged_values, with_hold, workable
from scheduling.access.derived import dew_point_c, wbgt_c, wind_chill_c

law = settings(max_examples=60, deadline=None, derandomize=True)
NAN = float("nan")


def plain(*values: float, low: list[float] | None = None) -> Field:
    return Field(np.array([values]), None, 60.0, low=None if low is None else np.array([low]))


def hub(*members: list[float], averaging_min: float = 10.0) -> Field:
    return Field(np.array(members), "hub", averaging_min)


def timed(fields: dict[str, Field], slot_min: float) -> dict[str, Field]:
    return {name: replace(field, slot_min=slot_min) for name, field in fields.items()}


def good(fields: dict[str, Field], *limits: Limit) -> list[list[bool]]:
    return workable(fields, LimitSet("task", limits)).tolist()


def test_felt_cold_is_worked_out_from_the_wind_of_each_member() -> None:
    limit = Limit("wind_chill", ">=", -20.0)
    fields = {"wind": hub([30 / 3.6], [9.0]), "temperature": plain(-10.0)}
    assert wind_chill_c(-10.0, [30 / 3.6, 9.0]).tolist() == pytest.approx([-19.52, -19.85], abs=0.01)
    assert good(fields, limit) == [[True], [True]]
    assert good({**fields, "temperature": plain(-11.0)}, limit) == [[False], [False]]
    assert good({**fields, "temperature": plain(NAN)}, limit) == [[False], [False]]


def test_felt_cold_wants_the_wind_at_its_height() -> None:
    low = Limit("wind_chill", ">=", -20.0, height=10.0)
    with pytest.raises(ValueError, match="wind_chill: the limit of 'task' is at 10 m height, the weather at hub height; carry"):
        good({"wind": hub([5.0]), "temperature": plain(0.0)}, low)
    with pytest.raises(ValueError, match="say at which height"):
        Limit("wind_chill", ">=", -20.0, height=None)


# 7 m/s at 10 m are 11.094 m/s at 100 m by the power law with exponent 0.2 (windpowerlib `hellman`), and so back.
@pytest.mark.parametrize("variable", ["wind", "gust"])
def test_a_hub_wind_is_carried_to_a_limit_at_another_height(variable: str) -> None:
    hub_wind = Field(np.array([[11.093, 11.096]], dtype=np.float32), "hub", 10.0, hub_m=100.0, shear=0.2)
    assert good({variable: hub_wind}, Limit(variable, "<=", 7.0, height=10.0)) == [[True, False]]
    hourly = Field(np.array([[11.093, 11.093]]), "hub", 10.0, hub_m=100.0, shear=np.array([0.2, 0.1]))
    assert good({variable: hourly}, Limit(variable, "<=", 7.0, height=10.0)) == [[True, False]]


def test_gusts_and_felt_cold_at_another_height_follow_the_wind_there() -> None:
    fields = {"wind": Field(np.array([[11.094]]), "hub", 10.0, hub_m=100.0, shear=0.2), "temperature": plain(-10.0)}
    gust = LimitSet("low", (Limit("gust", "<=", 10.51, height=10.0, averaging_min=0.05),), gust_factor=1.5)
    assert judged_values(fields, gust.limits[0], gust) == pytest.approx(10.5, abs=0.005)
    cold = Limit("wind_chill", ">=", -20.0, height=10.0)
    assert judged_values(fields, cold, LimitSet("low", (cold,))) == pytest.approx(wind_chill_c(-10.0, 7.0), abs=0.01)


def test_given_felt_cold_stands_in_where_it_cannot_be_worked_out() -> None:
    fields = {"wind_chill": plain(-19.0, -21.0)}
    assert good(fields, Limit("wind_chill", ">=", -20.0)) == [[True, False]]
    windy = {**fields, "wind": hub([15.0, 0.0]), "temperature": plain(-15.0, -15.0)}
    assert good(windy, Limit("wind_chill", ">=", -20.0)) == [[False, True]]


def test_humidity_and_dew_point_stand_in_for_each_other() -> None:
    spread = Limit("dew_point_spread", ">=", 3.0)
    assert good({"temperature": plain(15.0, 15.0), "humidity": plain(75.0, 90.0)}, spread) == [[True, False]]
    assert good({"temperature": plain(15.0, 15.0), "dew_point": plain(12.0, 12.1)}, spread) == [[True, False]]
    damp = Limit("humidity", "<=", 80.0)
    dew = dew_point_c(15.0, np.array([79.9, 80.1]))
    assert good({"temperature": plain(15.0, 15.0), "dew_point": plain(*dew)}, damp) == [[True, False]]
    dew_limit = Limit("dew_point", "<=", 10.0)
    assert good({"temperature": plain(15.0, 15.0), "humidity": plain(60.0, 80.0)}, dew_limit) == [[True, False]]


def test_icing_by_rule_or_as_given() -> None:
    limit = Limit("icing_probability", "<=", 20.0)
    cold_and_moist = {"temperature": plain(-2.0, 5.0), "humidity": plain(97.0, 97.0)}
    assert good(cold_and_moist, limit) == [[False, True]]
    assert good({**cold_and_moist, "icing_probability": plain(10.0, 30.0)}, limit) == [[True, False]]


def test_heat_in_a_nacelle_warmer_than_outside() -> None:
    fields = {"temperature": plain(24.0, 30.0), "humidity": plain(60.0, 60.0)}
    limit = Limit("wbgt", "<=", 26.0, offset_c=8.0)
    assert wbgt_c(24.0, 60.0, 8.0) < 26.0 < wbgt_c(30.0, 60.0, 8.0)
    assert good(fields, limit) == [[True, False]]
    assert good({**fields, "wbgt": plain(27.0, 25.0)}, limit) == [[False, True]]
    assert good(fields, Limit("temperature", "<=", 35.0, offset_c=8.0)) == [[True, False]]


def test_the_work_share_names_the_least_that_is_accepted() -> None:
    fields = {"wbgt": plain(27.0, 28.5, 29.2, NAN)}
    used = {"metabolic_class": 2, "acclimatised": True}
    assert good(fields, Limit("work_share", ">=", 100.0, **used)) == [[True, False, False, False]]
    assert good(fields, Limit("work_share", ">=", 75.0, **used)) == [[True, True, False, False]]
    assert good(fields, Limit("work_share", ">=", 50.0, **used)) == [[True, True, True, False]]
    assert good(fields, Limit("work_share", ">=", 100.0, metabolic_class=2)) == [[False] * 4]


@pytest.mark.parametrize(
    "limit",
    [
        Limit("wind_chill", ">=", -20.0), Limit("dew_point_spread", ">=", 3.0), Limit("wbgt", "<=", 28.0),
        Limit("humidity", "<=", 80.0), Limit("dew_point", "<=", 10.0), Limit("icing_probability", "<=", 0.0),
        Limit("work_share", ">=", 50.0, metabolic_class=2), Limit("lightning_probability", "<=", 10.0),
        Limit("rain", "<=", 1.0), Limit("visibility", ">=", 1000.0), Limit("wave_height", "<=", 1.5),
        Limit("wave_period", "<=", 9.0), Limit("lightning_distance", ">=", 16.0, unit="km"),
    ],
    ids=lambda one: one.variable,
)  # fmt: skip
def test_what_nothing_is_known_of_blocks(limit: Limit) -> None:
    assert good({"wind": hub([5.0])}, limit) == [[False]]
    for name in ("temperature", "humidity", "dew_point", limit.variable):
        assert good({"wind": hub([5.0]), name: plain(NAN)}, limit) == [[False]]


def test_a_lower_limit_is_held_against_the_lowest_of_a_slot() -> None:
    fields = {"visibility": plain(9_000.0, low=[800.0])}
    assert good(fields, Limit("visibility", ">=", 1_000.0)) == [[False]]
    cold = {"temperature": plain(2.0, low=[-3.0])}
    assert good(cold, Limit("temperature", ">=", 0.0)) == [[False]]
    assert good(cold, Limit("temperature", "<=", 1.0)) == [[False]]


# Public 30/30 advice: wait 30 min after the last thunder, each new one starts the clock again; thunder at 14:05 and 14:20 is
# clear at 14:50 (several public safety pages). Slots of 5 min from 14:00, 8 km at the strokes.
def test_each_stroke_starts_the_clock_again() -> None:
    distance = [50_000.0] * 14
    distance[1] = distance[4] = 8_000.0
    limit = Limit("lightning_distance", ">=", 10.3, unit="km", clear_after_min=30.0)
    open_again = good(timed({"lightning_distance": plain(*distance)}, 5.0), limit)[0]
    # The stroke may fall at the end of its slot, 14:25: clear from 14:55 on.
    assert open_again == [True] + [False] * 10 + [True] * 3


def test_staying_clear_needs_the_length_of_the_slots() -> None:
    limit = Limit("wind", "<=", 12.0, clear_after_min=20.0)
    with pytest.raises(ValueError, match="slot_min: the wind limit of 'task' asks to stay clear for 20 min; state the length"):
        good({"wind": hub([5.0])}, limit)


# 12.1 m/s at 10:00, at most 12 from 10:10, 20 min to stay clear: back at 10:30. Common practice, no source.
def test_back_after_twenty_minutes() -> None:
    fields = timed({"wind": hub([11.8, 12.1, 11.9, 11.8, 11.7, 11.9])}, 10.0)
    assert good(fields, Limit("wind", "<=", 12.0, clear_after_min=20.0)) == [[True, False, False, False, True, True]]


@law
@given(
    wind=arrays(
        np.float32,
        array_shapes(min_dims=2, max_dims=3, max_side=20),
        elements=st.one_of(st.floats(0, 30, width=32), st.just(NAN)),
    ),
    clear_min=st.integers(0, 300),
    slot_min=st.sampled_from([10.0, 15.0, 30.0, 60.0]),
)
def test_staying_clear_is_the_hold_of_the_truth_table(wind: np.ndarray, clear_min: int, slot_min: float) -> None:
    fields = timed({"wind": Field(wind, "hub", 10.0)}, slot_min)
    at_once = workable(fields, LimitSet("x", (Limit("wind", "<=", 12.0),)))
    held = workable(fields, LimitSet("x", (Limit("wind", "<=", 12.0, clear_after_min=clear_min),)))
    assert (held == with_hold(at_once, int(np.ceil(clear_min / slot_min)))).all()


def test_the_value_named_is_the_worst_of_the_time_to_stay_clear() -> None:
    fields = timed({"gust": Field(np.array([[10.0, 17.0, 11.0, 12.0]]), "hub", 0.05)}, 30.0)
    limit = Limit("gust", "<=", 15.0, averaging_min=0.05, clear_after_min=60.0)
    assert judged_values(fields, limit, LimitSet("x", (limit,))).tolist() == [[10.0, 17.0, 17.0, 17.0]]  # type: ignore[union-attr]
