from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from scheduling.access import (
    Field,
    Limit,
    LimitSet,
    chance,
    down_by,
    first_start,
    fitting_starts,
    inside_windows,
    last_start,
    longest_room,
    longest_window,
    openings,
    pack_members,
    room_ahead,
    run_ahead,
    unpack_members,
    wait_slots,
    windows,
    with_hold,
    workable,
)

law = settings(max_examples=60, deadline=None, derandomize=True)
tables = arrays(np.bool_, array_shapes(min_dims=2, max_dims=2, max_side=40))
winds = arrays(
    np.float64,
    array_shapes(min_dims=2, max_dims=2, max_side=30),
    elements=st.one_of(st.floats(0, 30), st.just(float("nan"))),
)


@law
@given(table=tables, stay=st.integers(1, 45))
def test_starts_agree_with_looking_at_every_slot(table: np.ndarray, stay: int) -> None:
    steps = table.shape[1]
    expected = [[bool(at + stay <= steps and row[at : at + stay].all()) for at in range(steps)] for row in table]
    assert fitting_starts(table, stay).tolist() == expected


@law
@given(table=tables, stay=st.integers(1, 45))
def test_slots_inside_windows_are_those_of_long_enough_runs(table: np.ndarray, stay: int) -> None:
    covered = np.zeros(table.shape, dtype=bool)
    for row, out in zip(table, covered, strict=True):
        for first, length in windows(row):
            out[first : first + length] = length >= stay
    assert (inside_windows(table, stay) == covered).all()


@law
@given(table=tables, stay=st.integers(1, 44))
def test_a_longer_stay_never_has_a_better_chance(table: np.ndarray, stay: int) -> None:
    shorter, longer = chance(table, stay), chance(table, stay + 1)
    assert (longer <= shorter).all()
    assert ((shorter >= 0) & (shorter <= 1)).all()


@law
@given(wind=winds, stay=st.integers(1, 6))
def test_no_window_contains_an_unknown_value(wind: np.ndarray, stay: int) -> None:
    good = workable({"wind": Field(wind, "hub", 10.0)}, LimitSet("climb", (Limit("wind", "<=", 12.0),)))
    assert not (inside_windows(good, stay) & np.isnan(wind)).any()


@law
@given(wind=winds, low=st.floats(0.1, 30), more=st.floats(0, 10), stay=st.integers(1, 6))
def test_a_higher_limit_never_lowers_a_chance(wind: np.ndarray, low: float, more: float, stay: int) -> None:
    fields = {"wind": Field(wind, "hub", 10.0)}
    tight, loose = (chance(workable(fields, LimitSet("x", (Limit("wind", "<=", value),))), stay) for value in (low, low + more))
    assert (loose >= tight).all()


@law
@given(table=tables)
def test_packing_there_and_back(table: np.ndarray) -> None:
    assert (unpack_members(pack_members(table), *table.shape) == table).all()


@law
@given(table=tables, hold=st.integers(0, 10))
def test_holding_only_ever_closes(table: np.ndarray, hold: int) -> None:
    held = with_hold(table, hold)
    assert not (held & ~table).any()
    assert (with_hold(table, 0) == table).all()


confidences = st.one_of(st.sampled_from([0.5, 0.8, 0.9, 1.0]), st.floats(0.01, 1.0))


@law
@given(table=tables, confidence=confidences)
def test_room_ahead_is_the_time_to_be_down_of_every_start(table: np.ndarray, confidence: float) -> None:
    room = room_ahead(table, confidence)
    for start, slots in enumerate(room):
        assert (start + int(slots) if slots else None) == down_by(table, start, confidence)


@law
@given(table=tables, confidence=confidences, stay=st.integers(1, 20))
def test_a_stay_fits_where_there_is_room_for_it(table: np.ndarray, confidence: float, stay: int) -> None:
    chances, room = chance(table, stay), room_ahead(table, confidence)
    assert (chances >= confidence - 1e-9).tolist() == (room >= stay).tolist()
    found = openings(chances, room, confidence)
    starts = np.flatnonzero(room >= stay)
    assert [n for one in found for n in range(one.first_start, one.last_start + 1)] == starts.tolist()
    assert (found[-1].last_start if found else None) == last_start(chances, confidence)
    assert all(one.down_by == down_by(table, one.last_start, confidence) for one in found)


@law
@given(table=tables)
def test_runs_ahead_agree_with_looking_at_every_slot(table: np.ndarray) -> None:
    expected = [[next((n for n, ok in enumerate(row[at:]) if not ok), len(row) - at) for at in range(len(row))] for row in table]
    assert run_ahead(table).tolist() == expected


@law
@given(table=tables, confidence=confidences)
def test_the_longest_room_is_the_longest_stay_that_fits(table: np.ndarray, confidence: float) -> None:
    start, length = (int(part) for part in longest_room(room_ahead(table, confidence)))
    steps = table.shape[1]
    assert length == max((n for n in range(1, steps + 1) if (chance(table, n) >= confidence - 1e-9).any()), default=0)
    if length:
        assert chance(table, length)[start] >= confidence - 1e-9
    if len(table) == 1:
        assert longest_window(table[0]) == ((start, length) if length else None)


def test_room_of_many_turbines_and_limit_sets_at_once() -> None:
    many = np.random.default_rng(5).random((3, 4, 6, 30)) < 0.9
    together = room_ahead(many, 0.8)
    start, length = longest_room(together)
    assert (together.shape, start.shape, length.shape) == ((3, 4, 30), (3, 4), (3, 4))
    assert together[1, 2].tolist() == room_ahead(many[1, 2], 0.8).tolist()
    assert (int(start[2, 3]), int(length[2, 3])) == tuple(int(part) for part in longest_room(together[2, 3]))


def test_the_longest_window_is_good_in_the_same_members() -> None:
    # Each slot alone is good in nine of ten members, but no two slots in the same nine.
    table = ~np.eye(10, dtype=bool)
    assert int(longest_room(room_ahead(table, 0.9))[1]) == 1
    assert int(longest_room(room_ahead(table, 0.8))[1]) == 2


def test_a_stay_past_the_end_of_the_data_never_fits() -> None:
    assert chance(np.ones((3, 5), dtype=bool), 2).tolist() == [1, 1, 1, 1, 0]
    assert chance(np.ones((3, 5), dtype=bool), 6).tolist() == [0] * 5


def test_chance_is_judged_member_by_member() -> None:
    members = np.array([[True, False], [False, True]])
    assert chance(members, 1).tolist() == [0.5, 0.5]
    assert chance(members, 2).tolist() == [0.0, 0.0]


def test_many_turbines_at_once() -> None:
    rng = np.random.default_rng(3)
    many = rng.random((4, 5, 6, 30)) < 0.8
    together = chance(many, 4)
    assert together.shape == (4, 5, 30)
    assert together[2, 3].tolist() == chance(many[2, 3], 4).tolist()


def test_down_by_is_when_too_few_members_are_still_good() -> None:
    table = np.ones((10, 8), dtype=bool)
    table[:3, 4] = False
    table[:1, 3] = False
    assert down_by(table, 0, 0.9) == 4
    assert down_by(table, 0, 0.95) == 3
    assert down_by(table, 0, 0.7) == 8
    assert down_by(table, 4, 0.8) is None
    assert down_by(table, 5, 1.0) == 8


def test_a_lull_that_comes_back_does_not_lift_the_time_to_be_down() -> None:
    table = np.array([[True, True, False, True, True]])
    assert down_by(table, 0, 1.0) == 2


def test_first_and_last_safe_start_of_a_day() -> None:
    chances = np.array([0.9, 0.2, 0.8, 0.85, 0.3, 0.95])
    assert first_start(chances, 0.8) == 0
    assert first_start(chances, 0.8, 1) == 2
    assert last_start(chances, 0.8, 0, 5) == 3
    assert last_start(chances, 0.99) is None
    assert first_start(np.array([16 / 20]), 0.8) == 0


def test_longest_window() -> None:
    assert longest_window(np.array([1, 1, 0, 1, 1, 1, 0, 1, 1, 1], dtype=bool)) == (3, 3)
    assert longest_window(np.zeros(4, dtype=bool)) is None


def test_waits_and_the_end_of_the_data() -> None:
    waits = wait_slots(np.array([False, True, False, False, True, False]))
    assert waits[:5].tolist() == [1, 0, 2, 1, 0]
    assert np.isnan(waits[5])


def test_nonsense_is_refused() -> None:
    table = np.ones((2, 4), dtype=bool)
    with pytest.raises(ValueError, match="stay_slots"):
        chance(table, 0)
    with pytest.raises(ValueError, match="one member or more"):
        chance(np.ones((0, 4), dtype=bool), 1)
    with pytest.raises(ValueError, match="one member or more"):
        chance(np.ones(4, dtype=bool), 1)
    with pytest.raises(ValueError, match="start: slot 4 is outside"):
        down_by(table, 4, 0.8)
    with pytest.raises(ValueError, match="hold_slots"):
        with_hold(table, -1)
    for confidence in (0.0, 1.1, float("nan")):
        with pytest.raises(ValueError, match="confidence"):
            first_start(np.ones(3), confidence)
