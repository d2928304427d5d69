"""Numbers of a problem as a planner reads them: money, shares, hours, days. Times come from a clock that is passed in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from scheduling.fortnight.problem import Problem

Clock = Callable[[int, int], str]
"""(day, slot) -> the local time at which that slot starts, for example "08:30"."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def slot_clock(day: int, slot: int) -> str:
    """The clock where no zone is known: "slot 4"."""
    return f"slot {slot}"


def day_text(problem: Problem, day: int) -> str:
    """A day of the horizon by its local date: "Wed 4 Mar"."""
    when = date.fromisoformat(problem.days[day].date)
    return f"{WEEKDAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"


def time_text(problem: Problem, day: int, slot: int, clock: Clock) -> str:
    """Day and time: "Wed 4 Mar, 08:30"."""
    return f"{day_text(problem, day)}, {clock(day, slot)}"


def days_text(problem: Problem, days: Iterable[int]) -> str:
    """Days in a row of words, runs joined: "Mon 2 Mar, Wed 4 Mar to Fri 6 Mar"."""
    runs: list[list[int]] = []
    for day in sorted(days):
        if runs and day == runs[-1][-1] + 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    names = [[day_text(problem, day) for day in (run[0], run[-1])] for run in runs]
    return ", ".join(first if first == last else f"{first} to {last}" for first, last in names) or "no day"


def money(problem: Problem, cents: float) -> str:
    """Cents as whole units of the site's currency: "1,234 EUR"."""
    return f"{cents / 100:,.0f} {problem.currency}"


def percent(share: float) -> str:
    """A share as whole percent, rounded down so that a missed limit never reads as kept: "79 %"."""
    return f"{int(share * 100 + 1e-9)} %"


def hours(minutes: float) -> str:
    """Minutes as hours: "4.5 h"."""
    return f"{minutes / 60:.1f} h"


def named(names: Iterable[str], most: int = 4) -> str:
    """A short list of names: "Ann, Ben and 3 more"."""
    every = list(names)
    if len(every) <= most:
        return ", ".join(every) or "nobody"
    return f"{', '.join(every[:most])} and {len(every) - most} more"
