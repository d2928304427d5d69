"""Counters: rate, projected date, limit reached, replaced counters, missing readings."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.due import CounterReading, Done, Due, Interval, find_due

ANCHOR = date(2025, 1, 1)


def service(**changes: object) -> Interval:
    values: dict[str, object] = {"key": 7, "trigger": "running_hours", "every": 4000.0, "anchor": ANCHOR, "name": "Oil change"}
    return Interval(**{**values, **changes})  # type: ignore[arg-type]


def day(number: int) -> date:
    return ANCHOR + timedelta(days=number)


def readings(*pairs: tuple[int, float]) -> list[CounterReading]:
    return [CounterReading(day(number), value) for number, value in pairs]


def look(of: Interval, today: int, *pairs: tuple[int, float], history: tuple[Done, ...] = ()) -> Due:
    return find_due(of, today=day(today), history=history, readings=readings(*pairs))


def test_projected_from_the_rate_and_recomputed_as_readings_come_in() -> None:
    first = look(service(early_days=14), 100, (100, 2000.0))
    assert (first.due, first.projected, first.state) == (day(200), True, "not open")
    assert first.opens == day(186)
    slower = look(service(), 150, (100, 2000.0), (150, 2250.0))  # 15 h a day since the anchor
    assert slower.due == day(150 + int(1750 / 15))
    assert slower.reason == (
        f"Oil change: due about {slower.due}, in 116 days, may be done from {slower.due} "
        "(2,250 of 4,000 h on 2025-05-31, 15 h a day over 150 days (3 readings))."
    )


def test_only_the_last_year_makes_the_rate() -> None:
    found = look(service(every=10_000.0), 800, (400, 400.0), (420, 420.0), (800, 4220.0))
    assert found.due == day(800 + int(5780 / ((4220 - 420) / 380)))


def test_rows_in_any_order_and_readings_after_today_do_not_matter() -> None:
    pairs = ((100, 2000.0), (150, 2250.0), (30, 700.0))
    assert look(service(), 150, *pairs, (300, 9000.0)) == look(service(), 150, *sorted(pairs))


def test_limit_reached_is_due_on_the_day_it_was_passed() -> None:
    found = look(service(stops=frozenset({"hoist"})), 210, (190, 3800.0), (210, 4200.0))
    assert (found.due, found.state, found.projected, found.days_over) == (day(200), "overdue", False, 10)
    assert found.stops == {"hoist"}
    assert "4,200 of 4,000 h on 2025-07-30, limit reached" in found.reason


def test_limit_reached_exactly_is_due_that_day() -> None:
    assert look(service(), 200, (190, 3800.0), (200, 4000.0)).state == "due"


def test_first_service_then_every() -> None:
    of = service(first_every=500.0)
    assert look(of, 10, (10, 200.0)).due == day(25)
    after = look(of, 30, (30, 600.0), history=(Done(day(30), counter=600.0),))
    assert after.due == day(30 + 200)


@pytest.mark.parametrize(("read", "state"), [(3500.0, "not open"), (3600.0, "open")])
def test_no_use_gives_no_date_and_the_value_gives_the_state(read: float, state: str) -> None:
    found = look(service(), 900, (200, read), (700, read), (900, read))
    assert (found.due, found.opens, found.closes, found.state) == (None, None, None, state)
    assert "no use over 700 days" in found.reason


def test_no_use_but_limit_passed_is_overdue() -> None:
    assert look(service(), 900, (200, 4100.0), (600, 4100.0), (900, 4100.0)).state == "overdue"


def test_too_few_days_give_no_rate() -> None:
    found = look(service(), 6, (6, 120.0))
    assert (found.due, found.state) == (None, "not open")
    assert "too few readings" in found.reason


def test_no_reading_at_all_asks_for_one() -> None:
    found = look(service(), 50)
    assert (found.due, found.state, found.stops) == (None, "open", frozenset())
    assert "no counter reading since 2025-01-01, enter one" in found.reason


@pytest.mark.parametrize("changes", [{"stops": frozenset({"lift"})}, {"statutory": True}])
def test_unknown_use_never_passes_a_gate_or_the_law(changes: dict[str, object]) -> None:
    assert look(service(**changes), 50).state == "overdue"
    assert look(service(**changes), 50, (50, 1000.0)).state == "not open"


def test_replaced_counter_goes_on_from_zero() -> None:
    found = look(service(), 170, (100, 2000.0), (150, 3000.0), (160, 100.0), (170, 300.0))
    assert found.due == day(170 + int(700 / (3200 / 160)))  # 3,300 h used; the step across the change makes no rate


def test_a_slip_between_two_readings_that_agree_is_left_out() -> None:
    clean = look(service(), 150, (100, 2000.0), (150, 3000.0))
    assert look(service(), 150, (100, 2000.0), (120, 24.0), (150, 3000.0)).due == clean.due
    assert look(service(), 150, (100, 2000.0), (120, 24000.0), (150, 3000.0)).due == clean.due


def test_two_readings_of_one_day_count_as_the_higher() -> None:
    assert look(service(), 100, (100, 1900.0), (100, 2000.0)).due == day(200)


def test_part_fitted_later_counts_from_what_the_counter_showed_then() -> None:
    found = look(service(), 100, (-50, 40_000.0), (50, 42_000.0), (100, 43_000.0))
    assert found.due == day(200)
    assert look(service(), 100, (0, 41_000.0), (100, 43_000.0)).due == day(200)


def test_work_without_its_counter_is_set_between_the_readings() -> None:
    found = look(service(), 200, (100, 2000.0), (200, 4000.0), history=(Done(day(150)),))
    assert found.due == day(350)


def test_work_after_the_last_reading_is_set_at_the_rate() -> None:
    assert look(service(), 160, (100, 2000.0), history=(Done(day(150)),)).due == day(350)


@pytest.mark.parametrize(
    ("at", "due", "next_limit"),
    [
        (3500.0, None, 4000.0),  # more than a tenth early: does not count
        (3600.0, None, 8000.0),
        (4100.0, None, 8000.0),
        (7000.0, None, 8000.0),  # late work does not swallow the next
        (3300.0, day(190), 8000.0),  # inside the window of the date it was done for
        (4100.0, day(175), 8000.0),  # on its due day, just past the limit: the next one stands
    ],
)
def test_fixed_limits_stay_on_their_grid(at: float, due: date | None, next_limit: float) -> None:
    row = Done(day(175), due=due, counter=at)
    found = look(service(fixed=True, early_days=30), 175, history=(row,))
    rate = at / 175
    assert found.due == day(175 + int((next_limit - at) / rate))


@pytest.mark.parametrize(("at", "next_limit"), [(440.0, 500.0), (450.0, 4500.0)])
def test_shortly_before_the_first_limit_means_a_tenth_of_the_first_step(at: float, next_limit: float) -> None:
    row = Done(day(22), counter=at)
    found = look(service(fixed=True, first_every=500.0), 22, history=(row,))
    assert found.due == day(22 + int((next_limit - at) / (at / 22)))


def test_projection_ends_at_a_turbines_life() -> None:
    found = look(service(), 300, (300, 0.001))
    assert found.due == day(300 + 30 * 365)


def test_energy_is_told_in_mwh() -> None:
    found = look(service(trigger="energy_mwh", every=20_000.0), 100, (100, 1000.0))
    assert "1,000 of 20,000 MWh on 2025-04-11, 10 MWh a day" in found.reason


def test_bad_readings_are_refused() -> None:
    for value in (float("nan"), float("inf"), -1.0):
        with pytest.raises(ValueError, match=r"value .* of 2025-01-01 is no counter reading: enter a number, 0 or more"):
            CounterReading(ANCHOR, value)
        with pytest.raises(ValueError, match=r"counter .* of 2025-01-01 is no counter reading"):
            Done(ANCHOR, counter=value)


PAIRS = st.lists(st.tuples(st.integers(-400, 3000), st.floats(0, 1e7)), max_size=12)


@given(
    pairs=PAIRS,
    fixed=st.booleans(),
    done=st.lists(st.integers(0, 3000), max_size=3),
    tolerances=st.tuples(st.integers(0, 365), st.integers(0, 365)),
    todays=st.tuples(st.integers(3000, 9000), st.integers(3000, 9000)),
)
def test_law_any_counter_gives_ordered_dates_and_a_state_that_only_moves_forward(
    pairs: list[tuple[int, float]],
    fixed: bool,
    done: list[int],
    tolerances: tuple[int, int],
    todays: tuple[int, int],
) -> None:
    of = service(fixed=fixed, early_days=tolerances[0], late_days=tolerances[1])
    rows = tuple(Done(day(number)) for number in done)
    early, late = (look(of, today, *pairs, history=rows) for today in sorted(todays))
    order = ["not open", "open", "due", "late", "overdue"]
    assert order.index(early.state) <= order.index(late.state)
    assert early.due == late.due
    if early.opens and early.due and early.closes:
        assert early.opens <= early.due <= early.closes


@given(steps=st.lists(st.floats(1, 48), min_size=1, max_size=30), fixed=st.booleans())
def test_law_doing_it_moves_the_date_on(steps: list[float], fixed: bool) -> None:
    pairs, total = [], 0.0
    for number, step in enumerate(steps, start=1):
        total += 30 * step
        pairs.append((30 * number, total))
    today = 30 * len(steps)
    before = look(service(fixed=fixed), today, *pairs)
    after = look(service(fixed=fixed), today, *pairs, history=(Done(day(today), before.due, total),))
    assert before.due is not None
    assert after.due is not None
    assert after.due > day(today)
    assert after.due >= before.due
