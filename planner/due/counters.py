"""Counter triggers: use so far, recent rate, and the day the limit is reached."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from planner.due.model import UNITS, CounterReading, Done, Interval

RATE_DAYS = 365  # the rate is taken over a year where there is one: wind, and so use, has seasons
LEAST_RATE_DAYS = 7  # fewer days say nothing about a rate
HORIZON_DAYS = 30 * 365  # a turbine's life; later dates are cut to this
EARLY_SHARE = 0.10  # of the step; common practice, no source


class Point(NamedTuple):
    """Total use since the anchor at the end of a day. broken: the counter was replaced just before."""

    on: date
    total: float
    broken: bool


class CounterDue(NamedTuple):
    """When the limit is reached. due None: no date can be given; near: within a tenth of the limit."""

    due: date | None
    basis: str
    projected: bool
    near: bool


def next_by_counter(interval: Interval, rows: Sequence[Done], readings: Iterable[CounterReading], today: date) -> CounterDue:
    """Return the day on which the counter reaches its next limit: read, projected or unknown.

    rows: history, oldest first, none after today; a row's counter counts as a reading. Readings after today
    are left out. Without any reading nothing is known: no date, except that an interval which holds a gate
    or is statutory falls due at once, since unknown use never passes a limit.
    """
    shown = [CounterReading(r.on, r.counter) for r in rows if r.counter is not None]
    shown += [r for r in readings if r.on <= today]
    if not shown:
        return _unknown(interval, rows)
    points = _totals(interval.anchor, shown)
    limit = _limit(interval, rows, points)
    return _reached(interval, points, limit) or _projected(interval, points, limit)


def _unknown(interval: Interval, rows: Sequence[Done]) -> CounterDue:
    since = rows[-1].on if rows else interval.anchor
    basis = f"no counter reading since {since}, enter one to get a date"
    if interval.stops or interval.statutory:
        return CounterDue(since, basis, projected=True, near=True)
    return CounterDue(None, basis, projected=False, near=True)


def _totals(anchor: date, shown: Sequence[CounterReading]) -> list[Point]:
    """Total use since the anchor, which survives a replaced counter (its new value counts from zero).

    If the first reading is later than the anchor, the counter stood at zero on the anchor.
    """
    highest: dict[date, float] = {}
    for reading in shown:
        highest[reading.on] = max(reading.value, highest.get(reading.on, 0.0))
    series = _without_misreadings(sorted(highest.items()))
    points = [Point(anchor, 0.0, broken=False)] if series[0][0] > anchor else []
    value, total = (0.0, 0.0) if points else (series[0][1], 0.0)
    for on, now in series:
        broken = now < value
        total += now if broken else now - value
        points.append(Point(on, total, broken))
        value = now
    start = _total_at(points, anchor)
    return [Point(p.on, p.total - start, p.broken) for p in points]


def _without_misreadings(series: list[tuple[date, float]]) -> list[tuple[date, float]]:
    """Drop a value that lies outside its two neighbours while these agree with each other (a slip).

    A replaced counter differs: the reading after it stays below the one before.
    """
    kept = series[:1]
    for at in range(1, len(series) - 1):
        before, now, after = kept[-1][1], series[at][1], series[at + 1][1]
        if not (before <= after and not before <= now <= after):
            kept.append(series[at])
    return kept + series[1:][-1:]


def _total_at(points: Sequence[Point], day: date) -> float:
    """Total on a day, straight between points; held at either end, so never more use than was read."""
    at = bisect_right(points, day, key=lambda p: p.on)
    if at == 0 or at == len(points):
        return points[max(0, at - 1)].total
    left, right = points[at - 1], points[at]
    share = (day - left.on).days / (right.on - left.on).days
    return left.total + share * (right.total - left.total)


def _limit(interval: Interval, rows: Sequence[Done], points: Sequence[Point]) -> float:
    """Total at which the interval is next due."""
    if not rows:
        return interval.first
    at_done = _total_at(points, rows[-1].on)
    unread = (rows[-1].on - points[-1].on).days
    if unread > 0:  # done after the last reading: the counter has gone on at its rate meanwhile
        at_done += unread * (recent_rate(points)[0] or 0.0)
    if not interval.fixed:
        return at_done + interval.every
    return _fixed_limit(interval, rows[-1], at_done)


def _fixed_limit(interval: Interval, last: Done, at_done: float) -> float:
    """Next limit on the grid first, first + every, ...; work shortly before a limit counts for it.

    Shortly: within a tenth of the step, or inside the window of the due date that was recorded with it and
    nearer to the limit ahead than to the one behind.
    """
    periods = max(0, math.floor((at_done - interval.first) / interval.every) + 1)
    limit = interval.first + periods * interval.every
    step = interval.every if periods else interval.first
    in_window = last.due is not None and 0 <= (last.due - last.on).days <= interval.early_days
    if limit - at_done <= step * (0.5 if in_window else EARLY_SHARE):
        limit += interval.every
    return limit


def _reached(interval: Interval, points: Sequence[Point], limit: float) -> CounterDue | None:
    """The day the limit was reached, straight between the readings around it; None if it was not."""
    if points[-1].total < limit:
        return None
    at = next(i for i, point in enumerate(points) if point.total >= limit)
    due = points[at].on
    if at > 0 and points[at].total > limit:
        left, right = points[at - 1], points[at]
        share = (limit - left.total) / (right.total - left.total)
        due = left.on + timedelta(days=math.floor(share * (right.on - left.on).days))
    return CounterDue(due, f"{_stand(interval, points, limit)}, limit reached", projected=False, near=True)


def _projected(interval: Interval, points: Sequence[Point], limit: float) -> CounterDue:
    last, left = points[-1], limit - points[-1].total
    rate, days, count = recent_rate(points)
    stand = _stand(interval, points, limit)
    near = left <= EARLY_SHARE * interval.every
    if rate is None:
        return CounterDue(None, f"{stand}, too few readings for a rate, enter another", False, near)
    if rate <= 0.0:
        return CounterDue(None, f"{stand}, no use over {days} days, so no date yet", False, near)
    ahead = min(left / rate, HORIZON_DAYS)
    unit = UNITS[interval.trigger]
    basis = f"{stand}, {rate:,.3g} {unit} a day over {days} days ({count} readings)"
    return CounterDue(last.on + timedelta(days=math.floor(ahead)), basis, projected=True, near=near)


def recent_rate(points: Sequence[Point]) -> tuple[float | None, int, int]:
    """Return use per day over the last RATE_DAYS of points, the days it rests on, and how many readings.

    One older point is taken in to span the start. Steps across a replaced counter are left out. The rate is
    None if fewer than LEAST_RATE_DAYS remain.
    """
    since = points[-1].on - timedelta(days=RATE_DAYS)
    first = max(0, bisect_right(points, since, key=lambda p: p.on) - 1)
    used, days = 0.0, 0
    for left, right in zip(points[first:], points[first + 1 :], strict=False):
        if not right.broken:
            used += right.total - left.total
            days += (right.on - left.on).days
    count = len(points) - first
    return (used / days if days >= LEAST_RATE_DAYS else None), days, count


def _stand(interval: Interval, points: Sequence[Point], limit: float) -> str:
    unit, last = UNITS[interval.trigger], points[-1]
    return f"{last.total:,.0f} of {limit:,.0f} {unit} on {last.on}"
