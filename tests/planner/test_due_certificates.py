"""Certificates: what a renewal gives; published values are in tests/reference/test_due_dates.py."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.due import Certificate, add_months, extend_online, renew

DAYS = st.dates(date(2000, 1, 1), date(2100, 12, 31))


def test_the_early_window_begins_two_calendar_months_before() -> None:
    expiry = date(2026, 4, 30)
    assert renew(expiry, date(2026, 2, 28)).valid_until == date(2028, 4, 30)
    assert renew(expiry, date(2026, 2, 27)).valid_until == date(2028, 2, 27)


def test_after_the_expiry_nothing_is_renewed() -> None:
    late = renew(date(2026, 5, 31), date(2026, 6, 1))
    assert (late.valid_until, late.full_course_needed) == (date(2026, 5, 31), True)
    assert extend_online(date(2026, 5, 31), date(2026, 6, 1)) == late


@given(expiry=DAYS, done=DAYS, validity=st.integers(1, 60), early=st.integers(0, 6))
def test_law_a_renewal_in_time_never_gives_more_than_validity_and_early_window(
    expiry: date, done: date, validity: int, early: int
) -> None:
    found = renew(expiry, done, validity, early)
    assert found.full_course_needed == (done > expiry)
    assert found.valid_until <= add_months(max(done, expiry), validity)
    if not found.full_course_needed:
        assert found.valid_until >= add_months(done, validity)


def test_bad_input_is_refused_with_field_and_cure() -> None:
    day = date(2026, 5, 31)
    with pytest.raises(ValueError, match=r"valid_until 2026-05-30 is before valid_from 2026-05-31: correct one"):
        Certificate("height", day, date(2026, 5, 30))
    with pytest.raises(ValueError, match=r"valid_from must be a plain date"):
        Certificate("height", datetime(2026, 1, 1, tzinfo=UTC), day)
    with pytest.raises(ValueError, match=r"validity_months 0 is not a span: use whole months, 1 or more"):
        renew(day, day, validity_months=0)
    with pytest.raises(ValueError, match=r"early_months -1 is not a span"):
        renew(day, day, early_months=-1)
    with pytest.raises(ValueError, match=r"months 0 is not a span"):
        extend_online(day, day, months=0)
    with pytest.raises(ValueError, match=r"done_on must be a plain date"):
        renew(day, datetime(2026, 1, 1, tzinfo=UTC))
