"""Month arithmetic, compared with dateutil."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from planner.due import add_months, tolerance_days
from planner.due.months import kept_day

DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))


@given(day=DAYS, months=st.integers(-1200, 1200))
def test_law_agrees_with_dateutil(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@given(day=DAYS, anchor_day=st.integers(1, 31), months=st.integers(-600, 600))
def test_law_anchor_day_agrees_with_dateutil(day: date, anchor_day: int, months: int) -> None:
    assert add_months(day, months, anchor_day) == day + relativedelta(months=months, day=anchor_day)


@given(day=DAYS, steps=st.lists(st.integers(1, 14), min_size=1, max_size=20))
def test_law_steps_with_the_anchor_day_equal_one_leap(day: date, steps: list[int]) -> None:
    at = day
    for months in steps:
        at = add_months(at, months, day.day)
    assert at == add_months(day, sum(steps))


@pytest.mark.parametrize(
    ("chain", "day"),
    [
        ([date(2025, 2, 28), date(2025, 1, 31)], 31),
        ([date(2025, 2, 28), date(2025, 1, 30)], 30),
        ([date(2025, 2, 28), date(2025, 1, 28)], 28),
        ([date(2025, 4, 30), date(2025, 3, 15)], 30),  # the older date belongs to another chain
        ([date(2025, 3, 30), date(2025, 1, 31)], 30),  # not a month end: nothing was clamped
        ([date(2025, 2, 28)], 28),
    ],
)
def test_the_chains_day_is_found_again_behind_a_clamped_one(chain: list[date], day: int) -> None:
    assert kept_day(chain) == day


def test_bad_input_is_refused_with_field_and_cure() -> None:
    with pytest.raises(ValueError, match=r"day must be a plain date"):
        add_months(datetime(2026, 1, 31, tzinfo=UTC), 1)
    with pytest.raises(ValueError, match=r"anchor_day 32 is not a day of a month: use 1 to 31"):
        add_months(date(2026, 1, 31), 1, 32)
    with pytest.raises(ValueError, match=r"months 120000 from 2026-01-31 leaves the calendar"):
        add_months(date(2026, 1, 31), 120_000)
    with pytest.raises(ValueError, match=r"every_months 0 is not an interval"):
        tolerance_days(0)
    with pytest.raises(ValueError, match=r"share nan is not a part"):
        tolerance_days(12, float("nan"))
