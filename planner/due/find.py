"""From an interval and what was done to a Due: dates, state, sentence."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from planner.due.counters import CounterDue, next_by_counter
from planner.due.model import CounterReading, Done, Due, Interval, State
from planner.due.months import check_day
from planner.due.occurrences import next_by_months


def find_due(
    interval: Interval,
    *,
    today: date,
    history: Iterable[Done] = (),
    readings: Iterable[CounterReading] = (),
) -> Due:
    """Return when the interval is next due on its asset, as seen on today.

    today: the day in the site's zone. history and readings: the asset's own, in any order; rows after today
    have not happened yet and are left out, so a past day can be looked at again. readings matter to counter
    triggers only. Raises ValueError if today carries a time.
    """
    check_day(today, "today")
    rows = sorted((row for row in history if row.on <= today), key=lambda row: row.on)
    last = rows[-1].on if rows else None
    if interval.trigger == "months":
        day, basis = next_by_months(interval, rows)
        return _dated(interval, last, CounterDue(day, basis, projected=False, near=False), day, today)
    found = next_by_counter(interval, rows, readings, today)
    if found.due is None:
        return _undated(interval, last, found)
    return _dated(interval, last, found, found.due, today)


def state_on(opens: date, due: date, closes: date, today: date) -> State:
    """Return the state on a day; opens <= due <= closes. See the package's table."""
    if today < opens:
        return "not open"
    if today < due:
        return "open"
    if today == due:
        return "due"
    return "late" if today <= closes else "overdue"


def earliest(dues: Iterable[Due]) -> Due:
    """Return the one that falls due first (then closes first): "12 months or 5 000 cycles" is two intervals.

    Those without a date come last. Raises ValueError if there are none.
    """
    found = list(dues)
    if not found:
        raise ValueError("dues is empty: pass at least one.")
    return min(found, key=lambda d: (d.due or date.max, d.closes or date.max))


def shortest(intervals: Iterable[Interval]) -> Interval:
    """Return the shortest of several rules for the same work: the shortest rule that applies wins.

    Raises ValueError if there are none or their triggers differ (then compare dates with earliest()).
    """
    found = list(intervals)
    if not found:
        raise ValueError("intervals is empty: pass at least one.")
    if len({interval.trigger for interval in found}) > 1:
        raise ValueError("trigger differs between the rules: compare their due dates with earliest() instead.")
    return min(found, key=lambda interval: interval.every)


def _dated(interval: Interval, last: date | None, found: CounterDue, due: date, today: date) -> Due:
    opens = due - timedelta(days=interval.early_days)
    closes = due + timedelta(days=interval.late_days)
    state = state_on(opens, due, closes, today)
    named = f"about {due}" if found.projected else f"{due}"
    when = _when(interval, state, named, opens, closes, (today - due).days)
    stops = interval.stops if state == "overdue" else frozenset()
    shut = f"; until it is done this stops: {', '.join(sorted(stops))}" if stops else ""
    return Due(
        key=interval.key,
        name=interval.label,
        last_done=last,
        opens=opens,
        due=due,
        closes=closes,
        state=state,
        reason=f"{interval.label}: {when} ({found.basis}){shut}.",
        stops=stops,
        can_stop=interval.stops,
        days_over=max(0, (today - due).days),
        projected=found.projected,
        statutory=interval.statutory,
    )


def _undated(interval: Interval, last: date | None, found: CounterDue) -> Due:
    """A counter without a date: its value alone says whether the work may be done already."""
    return Due(
        key=interval.key,
        name=interval.label,
        last_done=last,
        opens=None,
        due=None,
        closes=None,
        state="open" if found.near else "not open",
        reason=f"{interval.label}: no due date ({found.basis}).",
        can_stop=interval.stops,
        statutory=interval.statutory,
    )


def _when(interval: Interval, state: State, due: str, opens: date, closes: date, over: int) -> str:
    """First half of the sentence; over: days since the due day, negative before it."""
    if state == "not open":
        return f"due {due}, in {_days(-over)}, may be done from {opens}"
    if state == "open":
        return f"due {due}, in {_days(-over)}, may be done since {opens}"
    if state == "due":
        return f"due today, {due}"
    if state == "late":
        return f"due {due}, late by {_days(over)}, tolerance ends {closes}"
    ended = f", tolerance ended {closes}" if interval.late_days else ""
    return f"due {due}, overdue by {_days(over)}{ended}"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
