"""How long work is split over visits: never below the least useful visit, unequal where that differs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.models import Procedure
from scheduling.builders.orders import visits_of


def procedure(least_h: float, may_span: bool = True) -> Procedure:
    return Procedure(may_span_visits=may_span, visit_least_h=least_h)


@pytest.mark.parametrize(
    ("work", "longest", "least_h", "splits"),
    [
        (720, 480, 2, ((360, 360), (480, 240), (240, 240, 240))),
        (300, 480, 2, ((300,), (150, 150))),
        (90, 480, 2, ((90,),)),  # shorter than a useful visit: all of it in one
        (960, 480, 4, ((480, 480), (320, 320, 320))),  # nothing longer than the equal visits
        (600, 480, 5, ((300, 300),)),
        (540, 480, 5, ((540,),)),  # no split leaves two useful visits
        (1500, 480, 2, ((375, 375, 375, 375), (460, 460, 460, 120), (300, 300, 300, 300, 300))),
    ],
)
def test_splits_by_hand(work: float, longest: int, least_h: float, splits: tuple[tuple[int, ...], ...]) -> None:
    assert visits_of(work, longest, procedure(least_h)) == splits


def test_work_that_may_not_be_split_is_one_visit() -> None:
    assert visits_of(1500, 480, procedure(2, may_span=False)) == ((1500,),)


@given(st.floats(1, 5000), st.integers(60, 700), st.floats(0, 8))
def test_every_split_does_all_the_work_in_useful_visits(work: float, longest: int, least_h: float) -> None:
    splits = visits_of(work, longest, procedure(least_h))
    assert len(set(splits)) == len(splits) <= 3
    assert len(splits[0]) == min(map(len, splits))
    for visits in splits:
        assert work <= sum(visits) <= work + len(visits)
        assert len(visits) == 1 or min(visits) >= math.floor(least_h * 60)
        assert list(visits) == sorted(visits, reverse=True)
