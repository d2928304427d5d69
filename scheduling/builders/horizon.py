"""Days and slots of a horizon in the base's zone. Slots of the night exist for weather and energy, not for work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.models import Base, ShiftPattern
from scheduling.fortnight.problem import Day

SLOT_MIN = 30


@dataclass(frozen=True)
class Horizon:
    """`days` working days from `first_day`; column c of the working grid is slot `columns[c]` counted from `origin`."""

    zone: ZoneInfo
    first_day: date
    opens: time
    slots_a_day: int
    days: int

    @property
    def origin(self) -> datetime:
        """Local midnight before the first day, in UTC."""
        return local_utc(self.first_day, time(0), self.zone)

    @property
    def end(self) -> datetime:
        """Local midnight after the last day, in UTC."""
        return local_utc(self.first_day + timedelta(days=self.days), time(0), self.zone)

    @property
    def all_slots(self) -> int:
        """Slots from origin to end, nights included (a day of a clock change has 46 or 50)."""
        return int((self.end - self.origin) / timedelta(minutes=SLOT_MIN))

    def date_of(self, day: int) -> date:
        """The local date of a day index."""
        return self.first_day + timedelta(days=day)

    def index_of(self, day: date) -> int:
        """The day index of a local date; may lie outside the horizon."""
        return (day - self.first_day).days

    def opens_at(self, day: int) -> datetime:
        """When the working grid of a day begins, UTC."""
        return local_utc(self.date_of(day), self.opens, self.zone)

    def grid(self) -> tuple[Day, ...]:
        """The days of the problem."""
        made = []
        for day in range(self.days):
            local = self.date_of(day)
            year, week, _ = local.isocalendar()
            start_min = int((self.opens_at(day) - self.origin) / timedelta(minutes=1))
            made.append(Day(local.isoformat(), start_min, self.slots_a_day, day * self.slots_a_day, f"{year}-W{week:02d}"))
        return tuple(made)

    def columns(self) -> NDArray[np.int64]:
        """int64 [days * slots_a_day]: for each working column its slot counted from origin."""
        firsts = [int((self.opens_at(day) - self.origin) / timedelta(minutes=SLOT_MIN)) for day in range(self.days)]
        return (np.array(firsts)[:, None] + np.arange(self.slots_a_day)[None, :]).ravel()

    def night(self, day: int) -> tuple[int, int]:
        """The slots [from, to) between the end of a day's grid and the start of the next one's (or the end)."""
        start = int((self.opens_at(day) - self.origin) / timedelta(minutes=SLOT_MIN)) + self.slots_a_day
        if day + 1 >= self.days:
            return start, self.all_slots
        return start, int((self.opens_at(day + 1) - self.origin) / timedelta(minutes=SLOT_MIN))

    def local_hours(self) -> NDArray[np.int64]:
        """int64 [all_slots]: the local hour (0..23) in which each slot begins."""
        step = timedelta(minutes=SLOT_MIN)
        return np.array([(self.origin + n * step).astimezone(self.zone).hour for n in range(self.all_slots)])

    def slot_of(self, when: datetime, day: int) -> int:
        """The first slot of the day's grid that begins at or after `when` (may lie outside it)."""
        return -int((self.opens_at(day) - when) // timedelta(minutes=SLOT_MIN))


@dataclass(frozen=True)
class Span:
    """A row of slots of SLOT_MIN minutes from `start` (UTC)."""

    start: datetime
    slots: int

    def times(self) -> list[datetime]:
        """The start of every slot, UTC."""
        return [self.start + n * timedelta(minutes=SLOT_MIN) for n in range(self.slots)]


def local_utc(day: date, at: time, zone: ZoneInfo) -> datetime:
    """A local date and time in UTC; a time the clocks skip is the moment after the change."""
    return datetime.combine(day, at, tzinfo=zone).astimezone(UTC)


def horizon_of(base: Base, first_day: date, days: int, later_min: int = 0) -> Horizon:
    """The horizon whose working grid spans the earliest start and latest end (overtime included) of the base's shifts.

    `later_min` minutes more at the end of each day, as far as midnight, for shifts that may become longer.
    """
    patterns = list(ShiftPattern.objects.filter(technicians__base=base, technicians__active=True).distinct())
    opens = min((pattern.start for pattern in patterns), default=time(7))
    closes = max((_end_min(pattern) for pattern in patterns), default=17 * 60)
    opens_min = (opens.hour * 60 + opens.minute) // SLOT_MIN * SLOT_MIN
    slots = (min(24 * 60, closes + later_min) - opens_min) // SLOT_MIN
    return Horizon(base.zone, first_day, time(opens_min // 60, opens_min % 60), slots, days)


def _end_min(pattern: ShiftPattern) -> int:
    return min(24 * 60, int(pattern.end.hour * 60 + pattern.end.minute + pattern.overtime_h * 60))
