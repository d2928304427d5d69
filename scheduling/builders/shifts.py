"""When a person may be away from base on a day: shift, overtime, on-call duty, call-outs, absences and hire periods.

Two habits are common practice without a source: who is on call in the night after a day works no overtime on it, so that
they are back in time; and after a call-out the daily rest runs from its end, so that the next shift begins later.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.models import Technician
from scheduling.builders.horizon import local_utc

JOINS = ("absences", "hires", "on_calls", "call_outs")
"""What these functions ask of a technician; prefetch it beside `shift_pattern`."""


@dataclass(frozen=True)
class Hours:
    """UTC. Overtime runs from `regular_end` to `ends`. `starts` may lie past `ends`: then the person rests all day."""

    starts: datetime
    regular_end: datetime
    ends: datetime


def hours_of(one: Technician, day: date, zone: ZoneInfo, rest_h: float) -> Hours:
    """The shift of a day, whether the person is there or not."""
    pattern = one.shift_pattern
    starts, regular = (local_utc(day, moment, zone) for moment in (pattern.start, pattern.end))
    rest = timedelta(hours=rest_h)
    called = [call.ended_at + rest for call in one.call_outs.all() if call.ended_at < regular]
    on_call = any(duty.first_day <= day <= duty.last_day for duty in one.on_calls.all())
    ends = regular if on_call else regular + timedelta(hours=pattern.overtime_h)
    return Hours(max([starts, *called]), regular, ends)


def why_away(one: Technician, day: date) -> str:
    """Why the person is not there on a day, in words; "" if they are. Working weekdays are the shift pattern's business."""
    away = [absence.last_day for absence in one.absences.all() if absence.first_day <= day <= absence.last_day]
    if away:
        return f"away until {max(away)}"
    if one.contractor and not any(hire.first_day <= day <= hire.last_day for hire in one.hires.all()):
        return "not hired for that day"
    return ""


def works_on(one: Technician, day: date) -> bool:
    """Whether the person works at all on a day."""
    return day.isoweekday() in one.shift_pattern.weekdays and not why_away(one, day)
