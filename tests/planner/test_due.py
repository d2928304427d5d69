"""Dues as seen by the caller: states, fixed and floating, history, bad input, speed."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.due import STATES, Done, Interval, add_months, earliest, find_due, shortest, state_on

ANCHOR = date(2024, 5, 1)


def interval(**changes: object) -> Interval:
    values: dict[str, object] = {"key": "annual", "trigger": "months", "every": 12, "anchor": ANCHOR, "name": "Annual service"}
    return Interval(**{**values, **changes})  # type: ignore[arg-type]


def due_day(of: Interval, *history: Done, today: date = date(2030, 1, 1)) -> date | None:
    return find_due(of, today=today, history=history).due


@pytest.mark.parametrize(
    ("today", "state", "over"),
    [
        (date(2025, 4, 10), "not open", 0),
        (date(2025, 4, 11), "open", 0),
        (date(2025, 4, 30), "open", 0),
        (date(2025, 5, 1), "due", 0),
        (date(2025, 5, 2), "late", 1),
        (date(2025, 5, 31), "late", 30),
        (date(2025, 6, 1), "overdue", 31),
    ],
)
def test_states_through_time(today: date, state: str, over: int) -> None:
    found = find_due(interval(early_days=20, late_days=30, stops=frozenset({"hoist"})), today=today)
    assert (found.state, found.days_over) == (state, over)
    assert (found.opens, found.due, found.closes) == (date(2025, 4, 11), date(2025, 5, 1), date(2025, 5, 31))
    assert found.stops == ({"hoist"} if state == "overdue" else frozenset())
    assert found.can_stop == {"hoist"}


@pytest.mark.parametrize(
    ("today", "sentence"),
    [
        (date(2025, 4, 1), "due 2025-05-01, in 30 days, may be done from 2025-04-11 (first time, 12 months after 2024-05-01)."),
        (date(2025, 4, 30), "due 2025-05-01, in 1 day, may be done since 2025-04-11 (first time, 12 months after 2024-05-01)."),
        (date(2025, 5, 1), "due today, 2025-05-01 (first time, 12 months after 2024-05-01)."),
        (date(2025, 5, 2), "due 2025-05-01, late by 1 day, tolerance ends 2025-05-31 (first time, 12 months after 2024-05-01)."),
        (
            date(2025, 6, 2),
            "due 2025-05-01, overdue by 32 days, tolerance ended 2025-05-31 (first time, 12 months after 2024-05-01); "
            "until it is done this stops: climbing, lift.",
        ),
    ],
)
def test_reason_is_one_sentence_with_numbers(today: date, sentence: str) -> None:
    of = interval(early_days=20, late_days=30, stops=frozenset({"lift", "climbing"}))
    assert find_due(of, today=today).reason == f"Annual service: {sentence}"


def test_statutory_shuts_its_gate_the_day_after() -> None:
    of = interval(every=6, statutory=True, stops=frozenset({"lift"}))
    assert find_due(of, today=date(2024, 11, 1)).stops == frozenset()
    assert find_due(of, today=date(2024, 11, 2)).stops == {"lift"}


def test_first_service_comes_earlier_than_the_rest() -> None:
    of = interval(first_every=3, fixed=True)
    assert due_day(of) == date(2024, 8, 1)
    assert due_day(of, Done(date(2024, 8, 5), due=date(2024, 8, 1))) == date(2025, 8, 1)
    assert due_day(of, Done(date(2024, 8, 5))) == date(2025, 8, 1)
    assert due_day(interval(first_every=0)) == ANCHOR


def test_never_done_stays_at_the_first_date_and_hides_nothing() -> None:
    found = find_due(interval(fixed=True), today=date(2029, 5, 2))
    assert (found.due, found.state, found.last_done) == (date(2025, 5, 1), "overdue", None)


@pytest.mark.parametrize("recorded", [True, False])
@pytest.mark.parametrize(
    ("done", "next_due"),
    [
        (date(2025, 3, 31), date(2025, 5, 1)),  # a day before the window opens: does not count
        (date(2025, 4, 1), date(2026, 5, 1)),  # first day of the window
        (date(2025, 5, 1), date(2026, 5, 1)),
        (date(2025, 12, 24), date(2026, 5, 1)),  # late work does not swallow the next one
        (date(2026, 3, 31), date(2026, 5, 1)),
        (date(2026, 4, 1), date(2027, 5, 1)),  # so late that the next window is open: does both
        (date(2028, 6, 10), date(2029, 5, 1)),  # whole periods skipped
    ],
)
def test_fixed_counts_for_every_occurrence_that_had_opened(done: date, next_due: date, recorded: bool) -> None:
    row = Done(done, due=date(2025, 5, 1) if recorded else None)
    assert due_day(interval(fixed=True, early_days=30), row) == next_due


def test_fixed_follows_a_recorded_due_date_off_the_grid() -> None:
    assert due_day(interval(fixed=True), Done(date(2025, 7, 3), due=date(2025, 7, 1))) == date(2026, 7, 1)


def test_extra_work_out_of_the_window_does_not_move_a_fixed_date() -> None:
    rows = [Done(date(2025, 7, 3), due=date(2025, 7, 1)), Done(date(2025, 11, 20))]
    assert due_day(interval(fixed=True, early_days=30), *rows) == date(2026, 7, 1)


@pytest.mark.parametrize(("fixed", "recorded"), [(True, True), (True, False), (False, True)])
@pytest.mark.parametrize(("anchor", "every"), [(date(2024, 1, 31), 1), (date(2024, 8, 31), 6), (date(2024, 1, 30), 1)])
def test_month_end_does_not_drift_when_done_in_time(anchor: date, every: int, fixed: bool, recorded: bool) -> None:
    of = interval(anchor=anchor, every=every, fixed=fixed)
    rows: list[Done] = []
    for count in range(1, 30):
        due = due_day(of, *rows, today=date(2100, 1, 1))
        assert due == add_months(anchor, count * every)
        rows.append(Done(due, due=due if recorded else None))


def test_statutory_floating_counts_from_the_day_done_even_at_month_end() -> None:
    of = interval(anchor=date(2025, 8, 31), every=6, statutory=True)
    day = date(2026, 2, 28)
    assert due_day(of, Done(day, due=day)) == date(2026, 8, 28)


def test_floating_done_off_its_day_starts_a_new_chain() -> None:
    of = interval(anchor=date(2025, 1, 31), every=1)
    first, second = Done(date(2025, 2, 27), due=date(2025, 2, 28)), Done(date(2025, 3, 27), due=date(2025, 3, 27))
    assert due_day(of, first) == date(2025, 3, 27)
    assert due_day(of, second, first) == date(2025, 4, 27)


def test_rows_after_today_have_not_happened_yet() -> None:
    row = Done(date(2025, 4, 20))
    assert due_day(interval(), row, today=date(2025, 4, 19)) == date(2025, 5, 1)
    assert due_day(interval(), row, today=date(2025, 4, 20)) == date(2026, 4, 20)


def test_today_must_be_a_plain_date() -> None:
    with pytest.raises(ValueError, match=r"today must be a plain date.*site's own zone"):
        find_due(interval(), today=datetime(2026, 6, 10, 16, 30, tzinfo=UTC))


def test_earliest_of_months_and_cycles_wins() -> None:
    today = date(2024, 5, 2)
    by_months, by_cycles = interval(key="m"), interval(key="c", trigger="cycles", every=5000.0)
    dues = [find_due(by_cycles, today=today), find_due(by_months, today=today)]
    assert dues[0].due is None
    assert earliest(dues).key == "m"
    with pytest.raises(ValueError, match="dues is empty"):
        earliest([])


def test_shortest_refuses_what_cannot_be_compared() -> None:
    with pytest.raises(ValueError, match="intervals is empty"):
        shortest([])
    with pytest.raises(ValueError, match="trigger differs"):
        shortest([interval(), interval(trigger="cycles", every=10.0)])


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"every": 0}, "every 0 is not an interval: use more than 0 months."),
        ({"every": -6}, "every -6 is not an interval: use more than 0 months."),
        ({"every": 6.5}, "every 6.5 months: use a whole number of months, at most 600."),
        ({"every": 601}, "every 601 months: use a whole number of months, at most 600."),
        ({"every": True}, "every True is not an interval: use more than 0 months."),
        ({"every": None}, "every None is not an interval: use more than 0 months."),
        ({"trigger": "cycles", "every": float("nan")}, "every nan is not an interval: use more than 0 cycles."),
        ({"trigger": "energy_mwh", "every": float("inf")}, "every inf is not an interval: use more than 0 MWh."),
        ({"first_every": -1}, "first_every -1 is not an interval: use 0 or more months."),
        ({"trigger": "weeks"}, "trigger 'weeks' is unknown: use one of months, running_hours, energy_mwh, cycles."),
        ({"early_days": -1}, "early_days -1 is not a tolerance: use whole days, 0 or more."),
        ({"late_days": 1.5}, "late_days 1.5 is not a tolerance: use whole days, 0 or more."),
        ({"every": 1, "early_days": 28}, "early_days 28 is too long for this interval: use fewer than 28 days."),
        ({"statutory": True, "late_days": 1}, "late_days 1 on a statutory interval would stretch a legal date: set it to 0."),
        ({"stops": frozenset({"crane"})}, "stops crane is no gate: use lift, climbing, hoist, entry, isolation, person."),
        ({"absorbs": frozenset({"annual"})}, "absorbs names the interval annual itself: leave it out."),
        ({"anchor": date(202, 5, 1)}, "anchor 0202-05-01 is out of range: use a year from 1900 to 2200."),
    ],
)
def test_bad_interval_is_refused_with_field_and_cure(changes: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError) as refused:
        interval(**changes)
    assert str(refused.value) == sentence


def test_whole_months_may_come_as_a_float() -> None:
    assert due_day(interval(every=12.0)) == date(2025, 5, 1)


DAYS = st.dates(date(2010, 1, 1), date(2040, 12, 31))


@st.composite
def months_intervals(draw: st.DrawFn) -> Interval:
    every = draw(st.sampled_from([1, 2, 3, 6, 12, 24, 48, 60, 120]))
    statutory = draw(st.booleans())
    return interval(
        every=every,
        anchor=draw(DAYS),
        fixed=draw(st.booleans()),
        early_days=draw(st.integers(0, 28 * every - 1)),
        late_days=0 if statutory else draw(st.integers(0, 28 * every - 1)),
        statutory=statutory,
        stops=frozenset({"lift"}),
        first_every=draw(st.none() | st.integers(0, 24)),
    )


ROWS = st.lists(st.builds(Done, on=DAYS, due=st.none() | DAYS), max_size=4)


@given(of=months_intervals(), rows=ROWS, today=DAYS)
def test_law_dates_are_in_order_and_statutory_closes_on_the_due_day(of: Interval, rows: list[Done], today: date) -> None:
    found = find_due(of, today=today, history=rows)
    assert found.opens is not None
    assert found.due is not None
    assert found.closes is not None
    assert found.opens <= found.due <= found.closes
    assert not of.statutory or found.closes == found.due
    assert bool(found.stops) == (today > found.closes)
    assert found.days_over == max(0, (today - found.due).days)


@given(of=months_intervals(), rows=ROWS, days=st.lists(st.dates(date(2041, 1, 1), date(2190, 1, 1)), min_size=2, max_size=5))
def test_law_state_only_moves_forward_with_time(of: Interval, rows: list[Done], days: list[date]) -> None:
    states = [STATES.index(find_due(of, today=day, history=rows).state) for day in sorted(days)]
    assert states == sorted(states)


@given(of=months_intervals(), rows=ROWS, late=st.integers(0, 4000))
def test_law_doing_it_moves_due_on(of: Interval, rows: list[Done], late: int) -> None:
    today = date(2041, 1, 1)
    before = find_due(of, today=today, history=rows)
    assert before.opens is not None
    assert before.due is not None
    on = max([before.opens + timedelta(days=late), *(row.on for row in rows)])
    after = find_due(of, today=max(today, on), history=[*rows, Done(on, due=before.due)])
    assert after.due is not None
    assert after.due > on
    assert after.due > before.due or not of.fixed


@given(of=months_intervals(), shifts=st.lists(st.integers(-400, 400), min_size=1, max_size=12))
def test_law_fixed_dates_never_leave_the_anchors_grid(of: Interval, shifts: list[int]) -> None:
    fixed = interval(every=of.every, anchor=of.anchor, fixed=True, early_days=of.early_days, first_every=of.first_every)
    rows: list[Done] = []
    for shift in shifts:
        due = due_day(fixed, *rows, today=date(2199, 1, 1))
        assert due is not None
        months = (due.year - fixed.anchor.year) * 12 + due.month - fixed.anchor.month
        assert (months - fixed.first) % fixed.every == 0
        assert due == add_months(fixed.anchor, months)
        rows.append(Done(due + timedelta(days=max(shift, -fixed.early_days)), due=due))


@given(of=months_intervals(), done=DAYS)
def test_law_fixed_next_is_the_first_occurrence_not_yet_open(of: Interval, done: date) -> None:
    fixed = interval(every=of.every, anchor=of.anchor, fixed=True, early_days=of.early_days)
    grid = (add_months(fixed.anchor, int(fixed.every) * count) for count in range(1, 1000))
    assert due_day(fixed, Done(done), today=date(2050, 1, 1)) == next(
        day for day in grid if day - timedelta(days=fixed.early_days) > done
    )


@given(span=st.tuples(DAYS, st.integers(0, 99), st.integers(0, 99)), today=DAYS)
def test_law_state_says_where_today_lies(span: tuple[date, int, int], today: date) -> None:
    due, early, late = span
    opens, closes = due - timedelta(days=early), due + timedelta(days=late)
    true = {
        "not open": today < opens,
        "open": opens <= today < due,
        "due": today == due,
        "late": due < today <= closes,
        "overdue": today > closes,
    }
    assert [state for state, holds in true.items() if holds] == [state_on(opens, due, closes, today)]


def test_twenty_thousand_intervals_in_about_a_second() -> None:
    of = interval(fixed=True, early_days=30)
    rows = [Done(date(2025, month, 20)) for month in (1, 4, 6)]
    began = time.process_time()
    for _ in range(20_000):
        find_due(of, today=date(2026, 1, 1), history=rows)
    assert time.process_time() - began < 3.0  # 0.3 s on two quiet cores; generous for a busy machine
