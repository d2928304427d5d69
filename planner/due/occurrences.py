"""Month triggers: which due date comes next, fixed or floating."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from planner.due.model import Done, Interval
from planner.due.months import add_months, kept_day, months_apart


def next_by_months(interval: Interval, rows: Sequence[Done]) -> tuple[date, str]:
    """Return the next due date of a months interval and what it rests on, as half a sentence.

    rows: history, oldest first, none after today.
    """
    if not rows:
        due = add_months(interval.anchor, int(interval.first))
        return due, f"first time, {_months(interval.first)} after {interval.anchor}"
    if interval.fixed:
        return _next_fixed(interval, rows)
    return _next_floating(interval, rows)


def _next_fixed(interval: Interval, rows: Sequence[Done]) -> tuple[date, str]:
    """First occurrence that had not opened on the day of the last work."""
    every = int(interval.every)
    base, day = _chain(interval, rows)
    covered_to = rows[-1].on + timedelta(days=interval.early_days)
    periods = max(0, months_apart(base, covered_to) // every)
    due = add_months(base, periods * every, day)
    if due <= covered_to:
        due = add_months(base, (periods + 1) * every, day)
    return due, f"every {_months(every)} from {base}, last done {rows[-1].on}"


def _chain(interval: Interval, rows: Sequence[Done]) -> tuple[date, int]:
    """Date to count whole periods from and its day of the month.

    That is the last recorded due date, which may lie off the grid of the anchor (a date taken over from
    older books or set by an inspector), else the first due date.
    """
    served = [row.due for row in reversed(rows) if row.due is not None]
    if served:
        return served[0], kept_day([*served, interval.anchor])
    return add_months(interval.anchor, int(interval.first)), interval.anchor.day


def _next_floating(interval: Interval, rows: Sequence[Done]) -> tuple[date, str]:
    """Day done + every. Done exactly on a clamped due day, the chain's day of the month is kept.

    Not so for statutory work: six months from 28 February end on 28 August, however the chain began.
    """
    last = rows[-1]
    day = last.on.day if interval.statutory else kept_day(_days_in_time(interval, rows))
    due = add_months(last.on, int(interval.every), day)
    return due, f"{_months(interval.every)} after the last one on {last.on}"


def _days_in_time(interval: Interval, rows: Sequence[Done]) -> Iterator[date]:
    """Days done, newest first, back to the first that was not its due day (where the chain began)."""
    for row in reversed(rows):
        yield row.on
        if row.on != row.due:
            return
    yield interval.anchor


def _months(count: float) -> str:
    return "1 month" if count == 1 else f"{count:.0f} months"
