"""Access windows of a turbine from the newest forecast."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from planner.cautions import CAUTION, STALE
from planner.errors import PlannerError
from planner.models import LimitSet, Turbine
from scheduling.access import (
    Binding,
    Bindings,
    Stay,
    binding_limits,
    chance,
    chance_with_rest,
    closings,
    longest_room,
    openings,
    room_ahead,
    slots_with_rest,
    work_pace,
    workable,
)
from scheduling.access.limits import LimitSet as CoreLimitSet
from scheduling.access.windows import BoolArray, FloatArray, IntArray
from scheduling.builders.cells import Cell
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.builders.limits import limit_set_of
from scheduling.builders.site_weather import site_weather
from scheduling.selectors.weather import age_h, is_stale, newest_forecast

MOST_DAYS = 16


@dataclass(frozen=True)
class Bound:
    """The limit that closes a start: `binding` at the slot from `at` on, where most members are lost."""

    at: datetime
    binding: Binding


@dataclass(frozen=True)
class Start:
    """One start: the chance that the whole stay fits, and by when people who go up then must be down (None: they may not).

    `limit` says what binds, or "" where the start reaches the confidence; `bound` is the same in numbers where it is a limit.
    """

    start: datetime
    chance: float
    down_by: datetime | None
    limit: str
    bound: Bound | None


@dataclass(frozen=True)
class Open:
    """An unbroken row of good starts: the last of them is the last safe start, and `down_by` is for those who take it."""

    first_start: datetime
    last_start: datetime
    down_by: datetime


@dataclass(frozen=True)
class Blocked:
    """A stretch in which too few members are workable, and the one limit that closes it, at its worst."""

    start: datetime
    end: datetime
    bound: Bound | None


@dataclass(frozen=True)
class Windows:
    """Every start of the coming days, each SLOT_MIN later; empty where the forecast is missing or stale.

    The longest window is the longest stay that would fit at the asked confidence; `longest_start` is None where none does.
    """

    confidence: float
    issued_at: datetime | None
    age_h: float | None
    note: str
    shear: str = ""
    starts: tuple[Start, ...] = ()
    openings: tuple[Open, ...] = ()
    blocked: tuple[Blocked, ...] = ()
    longest_h: float = 0.0
    longest_start: datetime | None = None
    longest_end: datetime | None = None


def access_windows(*, turbine: Turbine, limit_set: LimitSet, stay_min: float, now: datetime, days: int = 10) -> Windows:
    """The chance of a stay of `stay_min` minutes at each start of the coming days.

    Where the limit set names a least work share for the heat, the stay lasts as much longer as the share of work falls.
    Raises PlannerError for a stay or a number of days that cannot be, or a limit set that names no limit or one that the
    weather cannot be held to.
    """
    if not 0 < stay_min <= 24 * 60 or not 1 <= days <= MOST_DAYS:
        raise PlannerError(f"Give a stay of 1 to 1440 minutes and 1 to {MOST_DAYS} days.", field="stay_min")
    site = turbine.site
    forecast = newest_forecast(site=site, at=now)
    if forecast is None or is_stale(forecast, site, now):
        issued = forecast.issued_at if forecast else None
        return Windows(site.confidence, issued, age_h(forecast, now) if forecast else None, STALE)
    start = now.replace(minute=now.minute // SLOT_MIN * SLOT_MIN, second=0, microsecond=0)
    span = Span(start, days * 24 * 60 // SLOT_MIN)
    cell = site_weather(site, forecast, now=now).cell(turbine, span)
    found = _found(cell, limit_set, Stay(0, stay_min).slots(SLOT_MIN), span, site.confidence)
    longest_start, longest_end = found.longest()
    return Windows(
        confidence=site.confidence,
        issued_at=forecast.issued_at,
        age_h=round(age_h(forecast, now), 2),
        note=CAUTION,
        shear=cell.shear,
        starts=found.starts(),
        openings=found.openings(),
        blocked=found.blocked(),
        longest_h=(longest_end - longest_start) / timedelta(hours=1) if longest_start and longest_end else 0.0,
        longest_start=longest_start,
        longest_end=longest_end,
    )


def _found(cell: Cell, row: LimitSet, stay_slots: int, span: Span, confidence: float) -> _Found:
    try:
        return _Found(cell, limit_set_of(row), stay_slots, span, confidence)
    except ValueError as error:
        raise PlannerError(str(error), field="limit_set") from error


class _Found:
    """The tables of one turbine, limit set and stay."""

    def __init__(self, cell: Cell, core: CoreLimitSet, stay_slots: int, span: Span, confidence: float) -> None:
        self.span, self.confidence = span, confidence
        self.good: BoolArray = workable(cell.fields, core, cell.daylight)
        self.room: IntArray = room_ahead(self.good, confidence)
        pace = work_pace(cell.fields, core)
        lasting = np.full((1, span.slots), stay_slots) if pace is None else slots_with_rest(pace, stay_slots)
        self.chances: FloatArray = chance(self.good, stay_slots) if pace is None else chance_with_rest(self.good, lasting)
        self.lasting: IntArray = lasting.max(axis=-2)
        self.bindings: Bindings = binding_limits(cell.fields, core, cell.daylight)

    def time(self, slot: int) -> datetime:
        return self.span.start + slot * timedelta(minutes=SLOT_MIN)

    def starts(self) -> tuple[Start, ...]:
        return tuple(self._start(slot) for slot in range(self.span.slots))

    def openings(self) -> tuple[Open, ...]:
        found = openings(self.chances, self.room, self.confidence)
        return tuple(Open(self.time(one.first_start), self.time(one.last_start), self.time(one.down_by)) for one in found)

    def blocked(self) -> tuple[Blocked, ...]:
        closed = self.good.mean(axis=0) < self.confidence - 1e-9
        found = closings(closed, self.bindings)
        return tuple(Blocked(self.time(one.first), self.time(one.past), self._bound(one.worst)) for one in found)

    def longest(self) -> tuple[datetime | None, datetime | None]:
        start, length = (int(part) for part in longest_room(self.room))
        return (self.time(start), self.time(start + length)) if length else (None, None)

    def _start(self, slot: int) -> Start:
        room = int(self.room[slot])
        down_by = self.time(slot + room) if room else None
        share = round(float(self.chances[slot]), 3)
        if self.chances[slot] >= self.confidence - 1e-9:
            return Start(self.time(slot), share, down_by, "", None)
        bound = self._bound(self._worst(slot))
        return Start(self.time(slot), share, down_by, self._text(slot, bound), bound)

    def _bound(self, slot: int | None) -> Bound | None:
        found = None if slot is None else self.bindings.at(slot)
        return None if slot is None or found is None else Bound(self.time(slot), found)

    def _worst(self, slot: int) -> int | None:
        """The slot of the stay at which most members are lost, None where the stay ends beyond the forecast."""
        end = slot + int(self.lasting[slot])
        return None if end > self.span.slots else slot + int(np.argmin(self.good[:, slot:end].mean(axis=0)))

    def _text(self, slot: int, bound: Bound | None) -> str:
        if slot + self.lasting[slot] > self.span.slots:
            return "beyond the forecast"
        if bound is None:
            return "short spells in different hours"
        found = bound.binding
        if found.variable == "daylight":
            return "dark"
        if np.isnan(found.value):
            return f"{found.name} unknown"
        return f"{found.name} {found.value:.1f}, limit {found.op} {found.limit:g} {found.unit}"
