"""A round's weeks, cells and months, ready to draw and to show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Any

from planner.views.formats import number, share
from scheduling.drawings.finish import Curve, finish_curve
from scheduling.drawings.rounds import Cell, WeekColumn, round_grid
from scheduling.models import RoundItem
from scheduling.year.problem import EVERYBODY

Climate = list[float | None]

PART_WORDS = {
    "lost energy": "energy not produced while turbines stand still, mean of the past years, at the site's price",
    "bad tail": "how much worse the bad past years are",
    "overload": "work that does not fit into its week, mean of the past years",
    "lateness": "weeks after the due date",
    "left out": "what leaving an item out costs",
    "equipment": "weeks in which shared equipment is used",
    "change": "items moved against the last round",
    "away from due": "weeks before the due date, where no weather history says which week is better",
}
"""What each part of a round's cost counts."""


def climate_of(workable: dict[str, list[list[float]]]) -> tuple[str, Climate]:
    """The limit set that lets people work least, and its workable share of each week, mean over the past years."""
    means = {limit: [sum(week) / len(week) for week in zip(*years, strict=True)] for limit, years in workable.items() if years}
    if not means:
        return "", []
    strictest = min(means, key=lambda limit: sum(means[limit]))
    return strictest, list(means[strictest])


def weeks_of(about: dict[str, Any]) -> list[dict[str, Any]]:
    """The weeks of a round. Without past years nothing is known about how often a week fits, whatever one calm year would say."""
    weeks = about.get("weeks", [])
    return weeks if about.get("history") else [{**week, "fits_share": None} for week in weeks]


def columns_of(mondays: Sequence[date], weeks: list[dict[str, Any]], climate: Climate) -> list[WeekColumn]:
    """The weeks of the grid."""
    columns = []
    for index, monday in enumerate(mondays):
        about = weeks[index] if index < len(weeks) else {}
        new_month = index == 0 or monday.month != mondays[index - 1].month
        columns.append(
            WeekColumn(
                label=str(monday.isocalendar().week),
                month=f"{monday:%b %Y}"
                if index == 0 or (new_month and monday.month == 1)
                else f"{monday:%b}"
                if new_month
                else "",
                load_h=about.get("load_h", {}).get(EVERYBODY, 0.0),
                capacity_h=about.get("capacity_h", {}).get(EVERYBODY, 0.0),
                workable_share=climate[index] if index < len(climate) else None,
                fits_share=about.get("fits_share"),
            )
        )
    return columns


def grid_of(items: list[RoundItem], mondays: list[date], weeks: list[dict[str, Any]], climate: Climate) -> str:
    """Turbines by weeks."""
    place = {monday: index for index, monday in enumerate(mondays)}
    several = len({item.turbine.site_id for item in items}) > 1
    found: dict[tuple[str, int], list[RoundItem]] = defaultdict(list)
    for item in items:
        if item.week in place:
            found[_turbine(item, several), place[item.week]].append(item)
    names = sorted({_turbine(item, several) for item in items})
    cells = {where: _cell(where[0], own) for where, own in found.items()}
    return round_grid("round", "The round by turbine and week", tuple(names), tuple(columns_of(mondays, weeks, climate)), cells)


def _turbine(item: RoundItem, several: bool) -> str:
    return f"{item.turbine.site.code} {item.turbine.code}" if several else item.turbine.code


def _cell(turbine: str, items: list[RoundItem]) -> Cell:
    works = ", ".join(_work(item) for item in items)
    mark = str(len(items)) if len(items) > 1 else items[0].interval.procedure.name[:1].upper()
    return Cell(mark, f"{turbine}, week of {items[0].week}: {works}", any(item.interval.statutory for item in items))


def _work(item: RoundItem) -> str:
    part = f" ({item.component})" if item.component else ""
    return f"{item.interval.procedure.name}{part}, due {item.due_on}"


def curve_of(about: dict[str, Any], mondays: list[date]) -> str:
    """The finishing curve; "" where nothing was worked out."""
    mean, low = about.get("done_mean", []), about.get("done_p10", [])
    if not mean or not mondays:
        return ""
    curves = [Curve("mean of years", "mean", tuple(mean)), Curve("9 of 10 years", "low", tuple(low))]
    if not about.get("history"):
        curves = [Curve("as laid", "plan", tuple(mean))]
    ticks = [(n, f"{monday:%b}") for n, monday in enumerate(mondays) if n == 0 or monday.month != mondays[n - 1].month]
    return finish_curve("finish", "How much of the round is done by when", curves, ticks)


def months_of(items: list[RoundItem], mondays: list[date], weeks: list[dict[str, Any]], climate: Climate) -> list[dict[str, str]]:
    """Month by month: work laid in, load against shift hours, wind climate, and how often it fits."""
    by_month: dict[tuple[int, int], list[int]] = defaultdict(list)
    for index, monday in enumerate(mondays):
        by_month[monday.year, monday.month].append(index)
    return [_month(own, items, mondays, weeks, climate) for own in by_month.values()]


def _month(
    own: list[int], items: list[RoundItem], mondays: list[date], weeks: list[dict[str, Any]], climate: Climate
) -> dict[str, str]:
    columns = columns_of(mondays, weeks, climate)
    days = {mondays[index] for index in own}
    calm = [part for index in own if (part := columns[index].workable_share) is not None]
    fits = [part for index in own if (part := columns[index].fits_share) is not None]
    return {
        "name": f"{mondays[own[0]]:%B %Y}",
        "items": str(sum(item.week in days for item in items)),
        "turbines": str(len({item.turbine_id for item in items if item.week in days})),
        "load": number(sum(columns[index].load_h for index in own), "h"),
        "capacity": number(sum(columns[index].capacity_h for index in own), "h"),
        "workable": share(sum(calm) / len(calm)) if calm else "unknown",
        "fits": share(min(fits)) if fits else "unknown",
    }
