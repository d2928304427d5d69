"""How one field of a record differs between two problems, in words; day indexes become dates first."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

from scheduling.fortnight.explain.words import days_text, money, named
from scheduling.fortnight.problem import Problem, Shift

WORDS = {
    "days": "may be worked on",
    "fit_days": "certificates valid on",
    "rescue_days": "rescue-capable on",
    "due_day": "due",
    "late_cost": "cost of a day late",
    "left_out_cost": "cost of leaving it out",
    "window": "weather and limits",
    "also": "further limits",
    "stops": "turbines that stand for it",
    "modes": "teams and minutes",
    "needs": "skills asked for",
    "pack_min": "minutes to pack",
    "after": "comes after",
    "behind": "only once these are accepted",
    "pins": "pinned",
    "crew": "people pinned",
    "label": "name",
    "week_left_min": "minutes left in the week",
    "day_cost": "cost a day",
    "energy": "energy table",
    "confidence": "chance asked for",
    "max_stopped": "most turbines stopped",
}
"""Names of fields that do not speak for themselves."""

DAY_SETS = ("days", "fit_days", "rescue_days")
SILENT = ("window", "energy", "also")
"""Keys: that they are named otherwise says nothing, and what stands behind them is told as weather or energy."""


class Side:
    """One of the two problems, with its days as dates."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.by_date = {date.fromisoformat(day.date): number for number, day in enumerate(problem.days)}
        self.dates = set(self.by_date)
        self.first = min(self.by_date, default=date.min)

    def index(self, day: date) -> int:
        """The index of a date that the problem has."""
        return self.by_date[day]

    def on(self, days: Iterable[int]) -> set[date]:
        """Day indexes as dates."""
        return {date.fromisoformat(self.problem.days[day].date) for day in days}

    def date_of(self, day: int) -> date:
        """The date of a day index, also outside the horizon."""
        return self.first + timedelta(days=day)

    def dates_text(self, dates: Iterable[date]) -> str:
        """Dates in words, those of the horizon joined in runs."""
        inside = [self.by_date[day] for day in dates if day in self.by_date]
        outside = [day.isoformat() for day in sorted(dates) if day not in self.by_date]
        return ", ".join([*outside, *([days_text(self.problem, inside)] if inside else [])]) or "no day"


def field_text(name: str, was: Any, now: Any, old: Side, new: Side) -> str:
    """How field `name` of a record differs; "" when it does not (on the days that both problems have)."""
    before, after = getattr(was, name), getattr(now, name)
    if name in SILENT or (before == after and (name not in SPECIAL or old.problem.days == new.problem.days)):
        return ""
    special = SPECIAL.get(name)
    if special is not None:
        return special(name, before, after, old, new)
    words = WORDS.get(name, name.replace("_", " "))
    return f"{words}: {_plain(name, after, new)}, before {_plain(name, before, old)}"


def _plain(name: str, value: Any, side: Side) -> str:
    if name.endswith(("cost", "_per_person", "_per_person_min", "team_day", "pair_apart")) and isinstance(value, int):
        return money(side.problem, value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, dict):
        return named((f"{key} {one}" for key, one in value.items()), 6)
    if isinstance(value, tuple):
        return named((_one(item) for item in value), 6) if value else "none"
    return str(value) if value not in (None, "") else "none"


def _one(item: Any) -> str:
    if hasattr(item, "visits_min"):
        return f"{item.team} people x {'+'.join(str(minutes) for minutes in item.visits_min)} min"
    if hasattr(item, "skill"):
        return f"{item.count} with {item.skill} level {item.level}"
    return " ".join(str(part) for part in item) if isinstance(item, tuple) else str(item)


def _day_set(name: str, before: Any, after: Any, old: Side, new: Side) -> str:
    shared = old.dates & new.dates
    return _gained_lost(WORDS[name], old.on(before) & shared, new.on(after) & shared, new)


def _gained_lost(words: str, was: set[date], now: set[date], side: Side) -> str:
    parts = [f"no longer {side.dates_text(was - now)}"] if was - now else []
    parts += [f"now also {side.dates_text(now - was)}"] if now - was else []
    return f"{words}: {', '.join(parts)}" if parts else ""


def _due(name: str, before: int, after: int, old: Side, new: Side) -> str:
    was, now = old.date_of(before), new.date_of(after)
    return "" if was == now else f"due {now}, before {was}"


def _shifts(name: str, before: tuple[Shift, ...], after: tuple[Shift, ...], old: Side, new: Side) -> str:
    shared = old.dates & new.dates
    was, now = ({side.date_of(s.day): _hours(side, s) for s in shifts} for side, shifts in ((old, before), (new, after)))
    was, now = ({day: hours for day, hours in one.items() if day in shared} for one in (was, now))
    other = {day for day in was.keys() & now.keys() if was[day] != now[day]}
    parts = [_gained_lost("on shift", set(was), set(now), new)]
    parts += [f"other hours on {new.dates_text(other)}"] if other else []
    return "; ".join(part for part in parts if part)


def _hours(side: Side, shift: Shift) -> tuple[int, int, int]:
    """Minutes of the shift within its own day (the day's grid may begin at another hour)."""
    begins = side.problem.days[shift.day].start_min - 1440 * shift.day
    return tuple(begins + slot * side.problem.slot_min for slot in (shift.start, shift.end, shift.regular_end))  # type: ignore[return-value]


def _skills(name: str, before: Any, after: Any, old: Side, new: Side) -> str:
    shared = old.dates & new.dates
    was, now = ({(h.skill, h.level): side.on(h.days) & shared for h in held} for side, held in ((old, before), (new, after)))
    keys = sorted({*was, *now})
    parts = (_gained_lost(f"{skill} level {level}", was.get((skill, level), set()), now.get((skill, level), set()), new)
             for skill, level in keys)  # fmt: skip
    return "; ".join(part for part in parts if part)


def _access(name: str, before: Any, after: Any, old: Side, new: Side) -> str:
    """Way up on the days that both have; an order's own access is a single record."""
    if not isinstance(before, tuple) or not isinstance(after, tuple):
        return f"own way up: {after.by if after else 'none'}, before {before.by if before else 'none'}" if before != after else ""
    days = {day for day in old.dates & new.dates if before[old.index(day)] != after[new.index(day)]}
    if not days:
        return ""
    ways = dict.fromkeys(after[new.index(day)].by for day in sorted(days))
    return f"way up by {' or '.join(ways)} on {new.dates_text(days)}"


def _pins(name: str, before: Any, after: Any, old: Side, new: Side) -> str:
    was, now = ({(v, side.date_of(day), slot) for v, day, slot in pins} for side, pins in ((old, before), (new, after)))
    if was == now:
        return ""
    told = [f"visit {v + 1} on {day}, slot {slot}" for v, day, slot in sorted(now)]
    return f"pinned to {named(told)}" if told else "no longer pinned"


SPECIAL: dict[str, Callable[[str, Any, Any, Side, Side], str]] = {
    **dict.fromkeys(DAY_SETS, _day_set),
    "due_day": _due,
    "shifts": _shifts,
    "skills": _skills,
    "access": _access,
    "pins": _pins,
}
