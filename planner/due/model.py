"""What goes in and comes out: interval, rows of history, counter readings, due."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

from planner.due.months import check_day

Key = int | str
Trigger = Literal["months", "running_hours", "energy_mwh", "cycles"]
State = Literal["not open", "open", "due", "late", "overdue"]
Gate = Literal["lift", "climbing", "hoist", "entry", "isolation", "person"]

TRIGGERS: tuple[Trigger, ...] = get_args(Trigger)
STATES: tuple[State, ...] = get_args(State)  # in the order time runs through them
GATES: tuple[Gate, ...] = get_args(Gate)
UNITS: dict[Trigger, str] = {
    "months": "months",
    "running_hours": "h",
    "energy_mwh": "MWh",
    "cycles": "cycles",
}

MOST_MONTHS = 600
FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Years outside are typing errors, and date arithmetic stays in range. Forms and the API take the same days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """How often one kind of work falls due on one asset.

    key, name: who it is; the name opens every sentence. trigger, every: whole calendar months, or a number
    of running hours, MWh or cycles. fixed: next from the due date, else from the day done. early_days and
    late_days: tolerance, late_days 0 where statutory. stops: gates that a lapse shuts. anchor: commissioning or
    installation; the first due is anchor + first_every (default every; 0 = before first use). absorbs: keys
    of smaller intervals which this one contains. Work by months *or* count is two intervals, see earliest().
    Raises ValueError, one sentence with field and cure.
    """

    key: Key
    trigger: Trigger
    every: float
    anchor: date
    fixed: bool = False
    early_days: int = 0
    late_days: int = 0
    statutory: bool = False
    stops: frozenset[str] = frozenset()
    first_every: float | None = None
    absorbs: frozenset[Key] = frozenset()
    name: str = ""

    def __post_init__(self) -> None:
        if self.trigger not in TRIGGERS:
            raise ValueError(f"trigger {self.trigger!r} is unknown: use one of {', '.join(TRIGGERS)}.")
        _check_amount("every", self.every, self.trigger, least_allowed=False)
        if self.first_every is not None:
            _check_amount("first_every", self.first_every, self.trigger, least_allowed=True)
        _check_year("anchor", self.anchor)
        _check_tolerance("early_days", self.early_days, self)
        _check_tolerance("late_days", self.late_days, self)
        if self.statutory and self.late_days > 0:
            raise ValueError(f"late_days {self.late_days} on a statutory interval would stretch a legal date: set it to 0.")
        if unknown := sorted(set(self.stops) - set(GATES)):
            raise ValueError(f"stops {', '.join(unknown)} is no gate: use {', '.join(GATES)}.")
        if self.key in self.absorbs:
            raise ValueError(f"absorbs names the interval {self.key} itself: leave it out.")

    @property
    def label(self) -> str:
        """What sentences call it."""
        return self.name or f"Interval {self.key}"

    @property
    def first(self) -> float:
        """Months or counter units from the anchor to the first due."""
        return self.every if self.first_every is None else self.first_every


@dataclass(frozen=True, slots=True)
class Done:
    """One row of history: the day it was done, the due date it was done for, the counter that day."""

    on: date
    due: date | None = None
    counter: float | None = None

    def __post_init__(self) -> None:
        _check_year("on", self.on)
        if self.due is not None:
            _check_year("due", self.due)
        if self.counter is not None:
            _check_counter("counter", self.counter, self.on)


@dataclass(frozen=True, slots=True)
class CounterReading:
    """What a counter (running hours, MWh or cycles) showed on a day."""

    on: date
    value: float

    def __post_init__(self) -> None:
        _check_year("on", self.on)
        _check_counter("value", self.value, self.on)


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One interval on one asset as seen on one day.

    opens, due, closes: None only where a counter gives no date. stops: gates shut on that day, empty unless
    overdue; can_stop: gates it would shut. days_over: days past the due date, 0 if none. projected: the date
    is an estimate from a counter's rate. absorbed_by: key of the larger service whose visit does this work
    too; a lapse keeps its state and its stops all the same.
    """

    key: Key
    name: str
    last_done: date | None
    opens: date | None
    due: date | None
    closes: date | None
    state: State
    reason: str
    stops: frozenset[str] = frozenset()
    can_stop: frozenset[str] = frozenset()
    days_over: int = 0
    projected: bool = False
    statutory: bool = False
    absorbed_by: Key | None = None


def _check_amount(field: str, value: float, trigger: Trigger, *, least_allowed: bool) -> None:
    number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not number or not (value >= 0 if least_allowed else value > 0):
        least = "0 or more" if least_allowed else "more than 0"
        raise ValueError(f"{field} {value!r} is not an interval: use {least} {UNITS[trigger]}.")
    if trigger == "months" and (value != int(value) or value > MOST_MONTHS):
        raise ValueError(f"{field} {value!r} months: use a whole number of months, at most {MOST_MONTHS}.")


def _check_tolerance(field: str, days: int, interval: Interval) -> None:
    if isinstance(days, bool) or not isinstance(days, int) or days < 0:
        raise ValueError(f"{field} {days!r} is not a tolerance: use whole days, 0 or more.")
    least_days = 28 * int(interval.every) if interval.trigger == "months" else 366
    if days >= least_days:
        raise ValueError(f"{field} {days} is too long for this interval: use fewer than {least_days} days.")


def _check_year(field: str, day: date) -> None:
    check_day(day, field)
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"{field} {day} is out of range: use a year from {FIRST_YEAR} to {LAST_YEAR}.")


def _check_counter(field: str, value: float, on: date) -> None:
    number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not number or value < 0:
        raise ValueError(f"{field} {value!r} of {on} is no counter reading: enter a number, 0 or more.")
