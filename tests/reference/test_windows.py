"""Published and computed values of access limits and weather windows; the source stands beside each check."""

from __future__ import annotations

import numpy as np
import pytest

from scheduling.access import (
    Field,
    Limit,
    LimitSet,
    climb_min,
    combine,
    fitting_starts,
    inside_windows,
    wait_slots,
    windows,
    with_hold,
    workable,
)
from scheduling.access.stay import LIFT_M_PER_MIN

HOURLY = [6, 7, 8, 9, 11, 12, 9, 8, 7, 6, 6, 7, 10, 11, 13, 12, 9, 8, 8, 7, 7, 9, 10, 9]


def good(winds: list[float], op: str, limit: float, **changes: float) -> np.ndarray:
    fields = {"wind": Field(np.array([winds], dtype=float), "hub", 10.0)}
    return workable(fields, LimitSet("task", (Limit("wind", op, limit),), **changes))[0]  # type: ignore[arg-type]


# The three outputs of windowed workability are defined on the persistency help page of waveclimate.com; numbers computed
def test_windowed_workability() -> None:
    mask = good(HOURLY, "<=", 10)
    assert mask.sum() == 19
    assert windows(mask) == [(0, 4), (6, 7), (16, 8)]
    starts = fitting_starts(mask, 4)
    assert np.flatnonzero(starts).tolist() == [0, 6, 7, 8, 9, 16, 17, 18, 19, 20]
    waits = wait_slots(starts)
    assert waits[10] == 6
    assert waits[:21].sum() == 36
    assert waits[:21].mean() == pytest.approx(1.714, rel=1e-3)
    assert np.isnan(waits[21:]).all()


def test_windowed_workability_of_six_hours() -> None:
    mask = good(HOURLY, "<=", 10)
    assert np.flatnonzero(fitting_starts(mask, 6)).tolist() == [6, 7, 16, 17, 18]
    assert inside_windows(mask, 6).sum() == 15


# The same series, the boundary rule changed; computed
def test_below_is_not_at_most() -> None:
    mask = good(HOURLY, "<", 10)
    assert mask.sum() == 17
    assert windows(mask) == [(0, 4), (6, 6), (16, 6), (23, 1)]


# Approach to the tower base at about cut-out: common practice, no source; the boundary must be stated
def test_approach() -> None:
    assert good([25.0], "<=", 25).all()
    assert not good([25.0], "<", 25).any()


# Climb or ride the lift: common practice, no source
def test_climb() -> None:
    assert good([17.9, 18.1], "<=", 18).tolist() == [True, False]


# Limits combine by the minimum over every step of the stay: common practice, no source. A rotor lock engaged above
# 15 m/s carries excess load (Kilcollins, Maintenance Fundamentals for Wind Technicians, 2013, as quoted on a web page)
def test_limits_combine_by_minimum() -> None:
    climb, lock, hub, most = (
        LimitSet(name, (Limit("wind", "<=", value),))
        for name, value in (("climb", 18.0), ("lock", 12.0), ("hub", 10.0), ("rotor lock at most", 15.0))
    )
    assert combine([climb, lock, hub]).limits[0].value == 10.0
    assert combine([lock, hub]).limits[0].value == 10.0
    assert combine([climb, most]).limits[0].value == 15.0


# Gust beside mean, 1.25-1.5 times the mean limit: common practice, no source
def test_gust_beside_mean() -> None:
    stated = LimitSet("roof", (Limit("wind", "<=", 12.0), Limit("gust", "<=", 1.4 * 12.0, averaging_min=0.05)))
    assert stated.limits[1].value == pytest.approx(16.8)
    wind = Field(np.array([[11.0, 11.0]]), "hub", 10.0)
    gust = Field(np.array([[16.8, 16.9]]), "hub", 0.05)
    assert workable({"wind": wind, "gust": gust}, stated).tolist() == [[True, False]]


# Stop at once, re-enter after 10-30 min below the limit: common practice, no source
def test_re_entry() -> None:
    ten_minutes = good([11.8, 12.1, 11.9, 11.8, 11.7, 11.9], "<=", 12)  # 09:50, 10:00, ... 10:40
    assert with_hold(ten_minutes, 2).tolist() == [True, False, False, False, True, True]


# 24 rungs a minute at 0.30 m, lift 18 m/min: from memory
def test_climb_times() -> None:
    assert climb_min(80.0) == pytest.approx(11.1, abs=0.05)
    assert climb_min(100.0) == pytest.approx(13.9, abs=0.05)
    assert climb_min(80.0, LIFT_M_PER_MIN) == pytest.approx(4.4, abs=0.05)
