"""Due dates and validities with published or computed values; the source stands beside each check."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import MONTHLY, rrule

from planner.due import (
    CounterReading,
    Done,
    Interval,
    absorb,
    add_months,
    extend_online,
    find_due,
    renew,
    shortest,
    tolerance_days,
)


def months(every: int, anchor: date, key: str = "x", **changes: object) -> Interval:
    return Interval(**{"key": key, "trigger": "months", "every": every, "anchor": anchor, **changes})  # type: ignore[arg-type]


def test_month_60_is_one_visit() -> None:
    """Ladder of services of an onshore turbine: 6-month, annual, 5-year. Common practice, no source."""
    anchor, eve = date(2021, 3, 31), date(2026, 3, 30)
    six = months(6, anchor, "six", fixed=True)
    year = months(12, anchor, "year", fixed=True, absorbs=frozenset({"six"}))
    five = months(60, anchor, "five", fixed=True, absorbs=frozenset({"year"}))
    history = {
        "six": [Done(date(2025, 9, 30), date(2025, 9, 30))],
        "year": [Done(date(2025, 3, 31), date(2025, 3, 31))],
        "five": [],
    }
    dues = [find_due(of, today=eve, history=history[str(of.key)]) for of in (six, year, five)]
    assert {due.due for due in dues} == {date(2026, 3, 31)}
    visits = [due.key for due in absorb(dues, [six, year, five]) if due.absorbed_by is None]
    assert visits == ["five"]


def test_thorough_examination_every_six_months_is_counted_in_months() -> None:
    """LOLER 1998 reg. 9 (HSE leaflets INDG422 and INDG-series): lifting people, at most 6 months."""
    exam = months(6, date(2025, 2, 28), statutory=True, stops=frozenset({"lift"}))
    found = find_due(exam, today=date(2026, 2, 28), history=[Done(date(2025, 8, 31))])
    assert (found.due, found.closes, found.state) == (date(2026, 2, 28), date(2026, 2, 28), "due")  # 180 days would be the 27th
    assert find_due(exam, today=date(2026, 3, 1), history=[Done(date(2025, 8, 31))]).stops == {"lift"}


def test_harness_inspection_shortest_rule_wins() -> None:
    """HSE INDG367: webbing every 6 months, about 3 in arduous use; EN 365: at least every 12 (clause from memory)."""
    anchor = date(2025, 11, 30)
    law, maker = months(6, anchor, "law", statutory=True), months(12, anchor, "maker")
    assert shortest([maker, law]).key == "law"
    arduous = months(3, anchor, "arduous", statutory=True)
    assert shortest([maker, law, arduous]).key == "arduous"
    assert find_due(arduous, today=anchor, history=[Done(anchor)]).due == date(2026, 2, 28)


def test_fire_extinguisher_overhaul() -> None:
    """BS 5306-3:2009 (as digested by the IOSH forum): CO2 made March 2017, overhaul after 10 years, service each 12 months."""
    made = date(2017, 3, 1)
    assert find_due(months(120, made, statutory=True), today=made).due == date(2027, 3, 1)
    assert find_due(months(12, made, statutory=True), today=made).due == date(2018, 3, 1)


@pytest.mark.parametrize(("operations", "state"), [(4900.0, "not open"), (5001.0, "overdue")])
def test_torque_wrench_12_months_or_5000_operations(operations: float, state: str) -> None:
    """ISO 6789, from memory: 4 900 operations at 11 months are in order, 5 001 are not."""
    anchor, today = date(2025, 1, 1), date(2025, 12, 1)
    wrench = Interval(key="w", trigger="cycles", every=5000.0, anchor=anchor)
    found = find_due(wrench, today=today, readings=[CounterReading(today, operations)])
    assert found.state == state
    assert find_due(months(12, anchor), today=today).state == "not open"


@pytest.mark.parametrize(
    ("done", "valid_until", "full_course"),
    [
        (date(2026, 4, 10), date(2028, 5, 31), False),
        (date(2026, 3, 15), date(2028, 3, 15), False),
        (date(2026, 5, 31), date(2028, 5, 31), False),
        (date(2026, 6, 1), date(2026, 5, 31), True),
    ],
)
def test_basic_safety_training_renewal(done: date, valid_until: date, full_course: bool) -> None:
    """GWO Basic Safety Training standard V20 (10 March 2026), section 5.5 and table 5.5.1; expiry 2026-05-31."""
    found = renew(date(2026, 5, 31), done)
    assert (found.valid_until, found.full_course_needed) == (valid_until, full_course)


def test_online_partial_refresher() -> None:
    """GWO BSTR-P standard V3 (2023), table 4.6.1: six months on the existing expiry."""
    assert extend_online(date(2026, 5, 31), date(2026, 5, 1)).valid_until == date(2026, 11, 30)


@pytest.mark.parametrize(
    ("start", "span", "end"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 1, 31), 2, date(2026, 3, 31)),
        (date(2024, 3, 1), 48, date(2028, 3, 1)),  # 4 x 365 days would be 2028-02-29
    ],
)
def test_month_arithmetic(start: date, span: int, end: date) -> None:
    """Computed with python-dateutil 2.9.0."""
    assert add_months(start, span) == end
    assert find_due(months(span, start, statutory=True), today=start).due == end


def test_yearly_from_leap_day_returns_to_it() -> None:
    """Computed with python-dateutil 2.9.0: the anchor stays on the original day."""
    yearly = months(12, date(2024, 2, 29), fixed=True)
    rows: list[Done] = []
    for expected in (date(2025, 2, 28), date(2026, 2, 28), date(2027, 2, 28), date(2028, 2, 29)):
        due = find_due(yearly, today=date(2029, 1, 1), history=rows).due
        assert due == expected
        rows.append(Done(expected, expected))


def test_monthly_from_the_31st_has_twelve_dates_a_year() -> None:
    """RFC 5545 recurrence skips months without a 31st (7 dates, by python-dateutil's rrule); due dates do not (12)."""
    anchor, end = date(2025, 8, 31), date(2026, 8, 31)
    monthly = months(1, anchor, fixed=True)
    rows: list[Done] = []
    while (due := find_due(monthly, today=end, history=rows).due) is not None and due <= end:
        rows.append(Done(due, due))
    assert len(rows) == 12
    assert [row.on for row in rows[:7:6]] == [date(2025, 9, 30), date(2026, 3, 31)]
    assert len(list(rrule(MONTHLY, datetime(2026, 1, 31), until=datetime(2026, 12, 31)))) == 7


def test_thirteenth_and_fourteenth_date_from_31_january() -> None:
    """Anchored month arithmetic computed with python-dateutil 2.9.0; chained, it drifts to the 28th."""
    monthly = months(1, date(2024, 1, 31), fixed=True)
    rows: list[Done] = []
    for _ in range(14):
        due = find_due(monthly, today=date(2026, 1, 1), history=rows).due
        assert due is not None
        rows.append(Done(due, due))
    assert [row.on for row in rows[12:]] == [date(2025, 2, 28), date(2025, 3, 31)]


def test_tolerance_of_a_tenth() -> None:
    """Timeliness within 10 % of the interval: 365 days give 36, 90 days give 9. Common practice, no source."""
    assert tolerance_days(12) == 36
    assert tolerance_days(3) == 9


@pytest.mark.parametrize(("fixed", "next_due"), [(True, date(2027, 5, 1)), (False, date(2027, 6, 10))])
def test_fixed_against_floating(fixed: bool, next_due: date) -> None:
    """Due 2026-05-01, done 2026-06-10, 12 months. Common practice."""
    service = months(12, date(2025, 5, 1), fixed=fixed)
    rows = [Done(date(2026, 6, 10), date(2026, 5, 1))]
    assert find_due(service, today=date(2026, 6, 11), history=rows).due == next_due


def test_the_due_day_itself_is_in_time() -> None:
    """Overdue if today > due. Common practice."""
    exam = months(6, date(2025, 8, 31))
    assert [find_due(exam, today=day).state for day in (date(2026, 2, 28), date(2026, 3, 1))] == ["due", "overdue"]
    assert find_due(exam, today=date(2026, 3, 1)).days_over == 1


def test_today_is_the_sites_own_day() -> None:
    """Common practice: at 2026-06-10 16:30 UTC it is 11 June in Perth and still 10 June in Chicago."""
    moment = datetime(2026, 6, 10, 16, 30, tzinfo=ZoneInfo("UTC"))
    exam = months(6, date(2025, 12, 10))
    days = [moment.astimezone(ZoneInfo(zone)).date() for zone in ("Australia/Perth", "America/Chicago")]
    assert [find_due(exam, today=day).state for day in days] == ["overdue", "due"]
