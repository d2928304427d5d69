"""A plan's visits, cost and left-out orders, ready to show."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from planner.models import Site
from planner.views.formats import chance, clock, clock_minutes, money, short_day, weekday, zone_names
from scheduling.drawings.timeline import Bar, Row, timeline
from scheduling.models import Plan, Visit
from scheduling.selectors.locks import HeldAt
from scheduling.selectors.plans import plan_visits
from workorders.models import Order

NOTHING_HELD = HeldAt()

PART_WORDS = {
    "lost energy": "energy not produced while turbines stand still for the work, at the site's price",
    "lateness": "days after the due date, by the order's class",
    "left out": "what leaving an order out costs, by its class",
    "likely aborts": "visits that the weather may cut short: what is missing to a sure chance, times the people sent",
    "travel": "minutes on the way, for each person",
    "nights away": "beds at lodgings, for each person and night",
    "teams": "each team sent out on a day",
    "overtime": "minutes after the regular end, for each person",
    "equipment": "days on which shared equipment is used",
    "change": "visits moved or dropped against the plan people know, and people taken out of them",
    "hired people": "people hired by the day, for each day they go out",
    "hand-over": "visits that go on with an order without anybody of its visit before",
    "pairs apart": "days on which people who like to work together go out in different teams",
}
"""What each part of the cost counts."""


def own_visits(plan: Plan, sites: Sequence[Site]) -> list[Visit]:
    """The plan's visits at these sites."""
    return list(plan_visits(plan).filter(turbine__site__in=sites))


def team_of(visit: Visit) -> str:
    """The people of a visit."""
    return ", ".join(sorted(person.name for person in visit.people.all())) or "nobody"


def night_of(visit: Visit) -> str:
    """Where the team sets out from and sleeps, if it is not the base."""
    out = f"sets out from {visit.sets_out_from}" if visit.sets_out_from else ""
    back = f"sleeps at {visit.sleeps_at}" if visit.sleeps_at else ""
    return ", ".join(text for text in (out, back) if text)


def visit_line(visit: Visit, zone: ZoneInfo, held: HeldAt = NOTHING_HELD) -> dict[str, Any]:
    """One visit as a row of the table."""
    return {
        "pk": visit.pk,
        "held": held.what(visit),
        "day": weekday(visit.day),
        "start": clock(visit.starts_at, zone),
        "down_by": clock(visit.down_by, zone),
        "turbine": visit.turbine.code,
        "site": visit.turbine.site.code,
        "jobs": job_lines(visit),
        "team": team_of(visit),
        "vehicle": str(visit.vehicle or ""),
        "night": night_of(visit),
        "by": visit.by,
        "only_if": visit.only_if,
        "chance": chance(visit.chance),
    }


def job_lines(visit: Visit) -> list[dict[str, Any]]:
    """The orders of a visit; `part` counts an order's visits from 1."""
    return [
        {"pk": job.order_id, "number": job.order.number, "work": job.order.procedure.name, "part": job.number + 1}
        for job in visit.jobs.all()
    ]


def drawn(visits: Sequence[Visit], zone: ZoneInfo, held: HeldAt = NOTHING_HELD) -> str:
    """The timeline by day and team; "" without visits."""
    if not visits:
        return ""
    rows = [row for day, same in groupby(visits, key=lambda visit: visit.day) for row in _rows(day, list(same), zone, held)]
    first, last = min(visit.starts_at for visit in visits), max(visit.down_by for visit in visits)
    return timeline("fortnight", "Visits by day and team", tuple(rows), zone_names(first, last, zone))


def _rows(day: date, visits: list[Visit], zone: ZoneInfo, held: HeldAt) -> Iterable[Row]:
    by_team = sorted(visits, key=lambda visit: (team_of(visit), visit.starts_at))
    for index, (team, own) in enumerate(groupby(by_team, key=team_of)):
        yield Row(short_day(day) if index == 0 else "", team, tuple(_bar(visit, zone, held.what(visit)) for visit in own))


def _bar(visit: Visit, zone: ZoneInfo, held: Sequence[str]) -> Bar:
    times = f"start {clock(visit.starts_at, zone)}, down by {clock(visit.down_by, zone)}"
    works = ", ".join(job.order.procedure.name for job in visit.jobs.all())
    return Bar(
        clock_minutes(visit.starts_at, zone),
        _end_minutes(visit.starts_at, visit.ends_at, zone),
        _end_minutes(visit.starts_at, visit.down_by, zone),
        f"{visit.turbine.code} {chance(visit.chance)} {works}",
        f"{visit.turbine.code}: {works}; {times}; chance {chance(visit.chance)}; {team_of(visit)}"
        + (f"; {visit.only_if}" if visit.only_if else "")
        + (f"; held: {', '.join(held)}" if held else ""),
        bool(held),
    )


def _end_minutes(start: datetime, end: datetime, zone: ZoneInfo) -> int:
    """Clock minutes of an end, past 24:00 where it lies on the next day."""
    days = (end.astimezone(zone).date() - start.astimezone(zone).date()).days
    return 24 * 60 * days + clock_minutes(end, zone)


def left_out_lines(plan: Plan, sites: Sequence[Site]) -> list[dict[str, Any]]:
    """Orders of these sites that the plan leaves out, each with its reason."""
    numbers = [row["order"] for row in plan.left_out]
    orders = Order.objects.filter(number__in=numbers, turbine__site__in=sites).select_related("turbine", "procedure")
    own = {order.number: order for order in orders}
    return [
        {
            "order": own[row["order"]],
            "due": weekday(own[row["order"]].due_on),
            "reason": row.get("reason") or "no reason is stored",
            "by_day": row.get("by_day", ""),
        }
        for row in plan.left_out
        if row["order"] in own
    ]


def changed_lines(plan: Plan, sites: Sequence[Site]) -> list[str]:
    """What a repair changed against the plan before, visits of these sites only."""
    numbers = {row["order"] for row in plan.run.changes}
    own = (
        set(Order.objects.filter(number__in=numbers, turbine__site__in=sites).values_list("number", flat=True)) if numbers else ()
    )
    return [row["text"] for row in plan.run.changes if row["order"] in own]


def cost_lines(parts: dict[str, float], currency: str, words: dict[str, str]) -> list[dict[str, str]]:
    """Every part of the cost that is not nothing, the largest first, with what it counts."""
    largest_first = sorted(((name, amount) for name, amount in parts.items() if amount), key=lambda part: -abs(part[1]))
    return [{"name": name, "amount": money(amount, currency), "what": words.get(name, "")} for name, amount in largest_first]
