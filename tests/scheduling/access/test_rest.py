from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from scheduling.access import Field, Limit, LimitSet, chance, chance_with_rest, slots_with_rest, work_pace

law = settings(max_examples=60, deadline=None, derandomize=True)
paces = arrays(
    np.float64, array_shapes(min_dims=2, max_dims=3, max_side=12), elements=st.sampled_from([0.0, 0.25, 0.5, 0.75, 1.0])
)


def by_hand(pace: np.ndarray, start: int, stay: int) -> int:
    done, slot = 0.0, start
    while slot < len(pace) and done < stay:
        done, slot = done + pace[slot], slot + 1
    return slot - start if done >= stay else len(pace) - start + 1


@law
@given(pace=paces, stay=st.integers(1, 8))
def test_a_stay_lasts_until_the_work_is_done(pace: np.ndarray, stay: int) -> None:
    found = slots_with_rest(pace, stay).reshape(-1, pace.shape[-1])
    rows = pace.reshape(-1, pace.shape[-1])
    assert found.tolist() == [[by_hand(row, start, stay) for start in range(len(row))] for row in rows]


@law
@given(table=arrays(np.bool_, array_shapes(min_dims=2, max_dims=3, max_side=20)), stay=st.integers(1, 8))
def test_without_rest_it_is_the_plain_chance(table: np.ndarray, stay: int) -> None:
    lasting = slots_with_rest(np.ones((1, table.shape[-1])), stay)
    assert chance_with_rest(table, lasting).tolist() == chance(table, stay).tolist()


@law
@given(pace=paces, stay=st.integers(1, 6))
def test_rest_never_betters_a_chance(pace: np.ndarray, stay: int) -> None:
    table = np.ones(pace.shape, dtype=bool)
    assert (chance_with_rest(table, slots_with_rest(pace, stay)) <= chance(table, stay)).all()


def test_the_pace_is_that_of_the_tightest_limit() -> None:
    fields = {"wbgt": Field(np.array([[20.0, 28.5, np.nan]]), None, 60.0)}
    used = Limit("work_share", ">=", 50.0, metabolic_class=2, acclimatised=True)
    fresh = Limit("work_share", ">=", 25.0, metabolic_class=2)
    assert work_pace(fields, LimitSet("a", (used,))).tolist() == [[1.0, 0.75, 0.0]]  # type: ignore[union-attr]
    assert work_pace(fields, LimitSet("a", (used, fresh))).tolist() == [[1.0, 0.25, 0.0]]  # type: ignore[union-attr]
    assert work_pace(fields, LimitSet("a", (Limit("wbgt", "<=", 28.0),))) is None
    assert work_pace({}, LimitSet("a", (used,))) is None


def test_a_stay_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="stay_slots"):
        slots_with_rest(np.ones((1, 3)), 0)
