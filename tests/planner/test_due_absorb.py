"""Services that coincide become one visit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.due import Due, Interval, absorb, find_due, visit_closes

ANCHOR = date(2024, 3, 1)
TODAY = date(2026, 1, 1)


def interval(key: str, every: int, **changes: object) -> Interval:
    return Interval(**{"key": key, "trigger": "months", "every": every, "anchor": ANCHOR, **changes})  # type: ignore[arg-type]


def at(of: Interval, due: date) -> Due:
    """That interval falling due on a given day."""
    return replace(
        find_due(of, today=TODAY),
        due=due,
        opens=due - timedelta(days=of.early_days),
        closes=due + timedelta(days=of.late_days),
    )


SMALL = interval("six", 6, early_days=15, late_days=10)
LARGE = interval("year", 12, late_days=36, absorbs=frozenset({"six"}))
DAY = date(2026, 3, 1)


@pytest.mark.parametrize(("shift", "absorbed"), [(-11, False), (-10, True), (0, True), (15, True), (16, False)])
def test_absorbed_inside_the_smaller_ones_own_tolerance(shift: int, absorbed: bool) -> None:
    small, large = absorb([at(SMALL, DAY + timedelta(days=shift)), at(LARGE, DAY)], [SMALL, LARGE])
    assert small.absorbed_by == ("year" if absorbed else None)
    assert large.absorbed_by is None


@pytest.mark.parametrize(("shift", "absorbed"), [(-1, False), (0, True), (15, True), (16, False)])
def test_statutory_is_absorbed_only_if_the_larger_is_due_by_its_date(shift: int, absorbed: bool) -> None:
    legal = interval("six", 6, early_days=15, statutory=True)
    small, large = absorb([at(legal, DAY + timedelta(days=shift)), at(LARGE, DAY)], [legal, LARGE])
    assert (small.absorbed_by is not None) == absorbed
    expected = DAY + timedelta(days=shift if absorbed else 36)
    assert visit_closes(large, [small, large]) == expected  # the joint visit ends with the legal date


def test_an_absorbed_lapse_keeps_its_state_and_its_gate() -> None:
    legal = interval("six", 6, statutory=True, stops=frozenset({"lift"}))
    dues = [find_due(of, today=TODAY) for of in (legal, interval("year", 6, absorbs=frozenset({"six"})))]
    small = absorb(dues, [legal, interval("year", 6, absorbs=frozenset({"six"}))])[0]
    assert (small.absorbed_by, small.state, small.stops) == ("year", "overdue", {"lift"})


def test_what_absorbs_is_not_absorbed_itself() -> None:
    five = interval("five", 60, absorbs=frozenset({"year"}))
    year = interval("year", 12, early_days=20, late_days=20, absorbs=frozenset({"six"}))
    dues = [at(SMALL, DAY + timedelta(days=25)), at(year, DAY + timedelta(days=20)), at(five, DAY)]
    found = absorb(dues, [SMALL, year, five])
    # the six-month service suits the annual one, but that is done with the five-year one, which is too early
    assert [due.absorbed_by for due in found] == [None, "five", None]


def test_nothing_is_absorbed_by_what_has_no_date() -> None:
    large = replace(at(LARGE, DAY), opens=None, due=None, closes=None)
    assert absorb([at(SMALL, DAY), large], [SMALL, LARGE])[0].absorbed_by is None
    assert visit_closes(large, []) is None


def test_unrelated_services_keep_apart() -> None:
    other = interval("lift", 12)
    assert all(due.absorbed_by is None for due in absorb([at(SMALL, DAY), at(other, DAY)], [SMALL, other]))


def test_a_ring_is_refused() -> None:
    ring = [interval("a", 6, absorbs=frozenset({"b"})), interval("b", 12, absorbs=frozenset({"a"}))]
    with pytest.raises(ValueError, match=r"absorbs of a leads back to itself: remove one link"):
        absorb([], ring)


LADDER = [
    interval("six", 6, early_days=20, late_days=18),
    interval("year", 12, early_days=30, late_days=36, absorbs=frozenset({"six"})),
    interval("legal", 12, early_days=30, statutory=True),
    interval("five", 60, early_days=60, late_days=90, absorbs=frozenset({"year", "legal"})),
]


@given(shifts=st.lists(st.integers(-60, 60), min_size=4, max_size=4))
def test_law_absorbing_twice_changes_nothing_and_no_tolerance_is_broken(shifts: list[int]) -> None:
    dues = [at(of, DAY + timedelta(days=shift)) for of, shift in zip(LADDER, shifts, strict=True)]
    once = absorb(dues, LADDER)
    assert absorb(once, LADDER) == once
    assert [replace(due, absorbed_by=None) for due in once] == dues
    by_key = {due.key: due for due in once}
    for due in once:
        if due.absorbed_by is not None:
            larger = by_key[due.absorbed_by]
            assert larger.absorbed_by is None
            assert due.opens <= larger.due <= due.closes  # type: ignore[operator]
