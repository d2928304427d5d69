"""Plans side by side, ready to show: the table of figures, what differs, visits by day and team, timelines."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from planner.models import Base
from planner.views.formats import chance, clock, clock_minutes, hours, money, number, short_day, weekday, zone_names
from planner.views.marks import mark
from scheduling.drawings.timeline import Bar, Row, hours_of, timeline
from scheduling.fortnight.down_by import down_by_slots
from scheduling.fortnight.plan import Visit
from scheduling.fortnight.side_by_side import Figures, Seen, Side
from scheduling.selectors.side_by_side import Found, Named

WIDTH = 580.0
DAYS_MOST = 28


def compare_context(found: Found, base: Base) -> dict[str, Any]:
    """What the template needs to show plans side by side."""
    sides = found.sides
    return {
        "sides": [_head(one) for one in found.named],
        "figures": list(_figures(found)),
        "differences": [
            {
                "title": one.title,
                "changes": own.changes,
                "people": own.people,
                "problem": own.problem,
                "unsure": money(unsure, sides[0].problem.currency) if (unsure := found.unsure(n)) else "",
            }
            for n, (one, own) in enumerate(zip(found.named, found.result.compared, strict=True))
            if n
        ],
        "first": found.named[0].title,
        "same_days": len({(one.first_day, one.last_day) for one in found.named}) == 1,
        "named": [_orders_named(one, figures) for one, figures in zip(found.named, found.result.figures, strict=True)],
        "days": [
            {"day": weekday(date.fromisoformat(day)), "cells": [[_visit(seen) for seen in own] for own in cells]}
            for day, cells in found.result.days
        ],
        "drawings": _drawings(sides, found, base.zone),
        "zone": zone_names(_starts(sides[0])[0], _starts(sides[0])[1], base.zone),
    }


def _head(one: Named) -> dict[str, Any]:
    kind = "what-if" if one.what_if else "plan"
    return {
        "title": one.title,
        "mark": mark(one.state),
        "kind": kind,
        "days": f"{short_day(one.first_day)} to {short_day(one.last_day)}",
    }


# --- the table of figures -----------------------------------------------------------------------------------------

Shown = Callable[[float], str]


def _figures(found: Found) -> Iterator[dict[str, Any]]:
    figures, currency = found.result.figures, found.sides[0].problem.currency

    def cents(value: float) -> str:
        return money(value / 100, currency)

    yield _row("Cost, each at its own prices", [one.value for one in figures], cents, strong=True)
    least = [money(bound, currency) for bound in found.bounds]
    yield {"label": "Proven least", "cells": [{"value": one, "change": ""} for one in least], "strong": False, "part": False}
    if any(one.value != one.at_first_prices for one in figures):
        title = found.named[0].title
        yield _row(
            f"Cost at the weights, dates and order costs of {title}", [one.at_first_prices for one in figures], cents, strong=True
        )
    for name in _parts_of(figures):
        yield _row(name, [one.parts.get(name, 0) for one in figures], cents, part=True)
    yield _row("Energy not produced", [one.lost_mwh for one in figures], lambda value: number(value, "MWh", 1))
    for label, values in _counts(figures):
        yield _row(label, values, lambda value: number(value))
    for label, values in _times(figures):
        yield _row(label, values, lambda value: hours(value / 60))


def _parts_of(figures: Sequence[Figures]) -> list[str]:
    names = {name for one in figures for name, cents in one.parts.items() if cents}
    return sorted(names, key=lambda name: (-max(one.parts.get(name, 0) for one in figures), name))


def _counts(figures: Sequence[Figures]) -> Iterator[tuple[str, list[float]]]:
    yield "Visits", [one.visits for one in figures]
    yield "Orders planned", [len(one.planned) for one in figures]
    yield "Orders left out", [len(one.left_out) for one in figures]
    yield "Orders late", [len(one.late) for one in figures]
    yield "Teams sent out, by day", [one.team_days for one in figures]


def _times(figures: Sequence[Figures]) -> Iterator[tuple[str, list[float]]]:
    yield "People's hours away", [one.people_min for one in figures]
    yield "of these on the way", [one.travel_min for one in figures]
    yield "of these overtime", [one.overtime_min for one in figures]


def _row(label: str, values: Sequence[float], shown: Shown, *, strong: bool = False, part: bool = False) -> dict[str, Any]:
    cells = [
        {"value": shown(value), "change": _difference(value - values[0], shown) if n else ""} for n, value in enumerate(values)
    ]
    return {"label": label, "cells": cells, "strong": strong, "part": part}


def _difference(change: float, shown: Shown) -> str:
    """The change against the first, with its sign; "same" where nothing of it would show."""
    written = shown(abs(change))
    return "same" if written == shown(0) else f"{'+' if change > 0 else '−'} {written}"


def _orders_named(one: Named, figures: Figures) -> dict[str, Any]:
    own = set(figures.left_out)
    late = [f"{order} by {days} {'day' if days == 1 else 'days'}" for order, days in figures.late]
    return {"title": one.title, "left_out": [row for row in one.left_out if row["order"] in own], "late": late}


def _visit(seen: Seen) -> dict[str, str]:
    return {
        "turbine": seen.turbine,
        "times": f"{seen.start} to {seen.end}",
        "team": ", ".join(seen.people),
        "orders": ", ".join(seen.orders),
        "chance": chance(seen.chance),
    }


# --- the timelines ------------------------------------------------------------------------------------------------


def _drawings(sides: Sequence[Side], found: Found, zone: ZoneInfo) -> list[dict[str, str]]:
    """One timeline a plan, all with the same hours, and the same days below each other."""
    dates = [day for day, _ in found.result.days][:DAYS_MOST]
    bars = [_bars(side, found.codes, zone) for side in sides]
    most = {day: max(1, *(len(own.get(day, [])) for own in bars)) for day in dates}
    rows = [tuple(row for day in dates for row in _rows(day, own.get(day, []), most[day])) for own in bars]
    span = hours_of(tuple(row for own in rows for row in own))
    drawn = []
    for n, (side, own) in enumerate(zip(sides, rows, strict=True)):
        svg = timeline(
            f"compared-{n}", f"Visits of {side.name} by day and team", own, zone_names(*_starts(side), zone), span, WIDTH
        )
        drawn.append({"title": side.name, "svg": svg})
    return drawn


def _rows(day: str, teams: list[tuple[str, tuple[Bar, ...]]], most: int) -> Iterator[Row]:
    padded = [*teams, *([("", ())] * (most - len(teams)))]
    for number_, (team, bars) in enumerate(padded):
        yield Row(short_day(date.fromisoformat(day)) if number_ == 0 else "", team, bars)


def _bars(side: Side, codes: frozenset[str], zone: ZoneInfo) -> dict[str, list[tuple[str, tuple[Bar, ...]]]]:
    """date -> (team, its bars), of turbines at these sites."""
    down = down_by_slots(side.problem, side.plan)
    own_turbines = {turbine.id for turbine in side.problem.turbines if turbine.site in codes}
    seen = [visit for visit in side.plan.visits if visit.turbine in own_turbines]
    ordered = sorted(seen, key=lambda one: (one.day, sorted(one.people), one.start))
    found: dict[str, list[tuple[str, tuple[Bar, ...]]]] = {}
    for (day, people), visits in groupby(ordered, key=lambda one: (one.day, sorted(one.people))):
        own = tuple(_bar(side, visit, down[visit], zone) for visit in visits)
        found.setdefault(side.problem.days[day].date, []).append((", ".join(people), own))
    return found


def _bar(side: Side, visit: Visit, down: int, zone: ZoneInfo) -> Bar:
    start, end, down_by = (_moment(side, visit.day, slot) for slot in (visit.start, visit.start + visit.slots, down))
    orders = ", ".join(job.order for job in visit.jobs)
    first = clock_minutes(start, zone)
    told = f"{visit.turbine}: {orders}; start {clock(start, zone)}, down by {clock(down_by, zone)}; chance {chance(visit.chance)}"
    return Bar(
        first,
        first + (end - start) // timedelta(minutes=1),
        first + (down_by - start) // timedelta(minutes=1),
        f"{visit.turbine.split(' ')[-1]} {chance(visit.chance)}",
        f"{told}; {', '.join(visit.people)}",
    )


def _moment(side: Side, day: int, slot: int) -> datetime:
    minutes = side.problem.days[day].start_min + slot * side.problem.slot_min
    return datetime.fromisoformat(side.problem.origin) + timedelta(minutes=minutes)


def _starts(side: Side) -> tuple[datetime, datetime]:
    """From the first day's first slot to the last day's end."""
    last = len(side.problem.days) - 1
    return _moment(side, 0, 0), _moment(side, last, side.problem.days[last].slots)
