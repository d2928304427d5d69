"""`manage.py due`: what falls due, soonest first, and what a lapse stops."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from planner import due as core
from planner.cautions import CAUTION
from planner.models import Site
from planner.selectors.due import DueItem, due_list

HEAD = ("site", "turbine", "component", "work", "state", "due", "closes", "days over", "stops")


class Command(BaseCommand):
    """Exit code 0; 2 for bad input, with one sentence on stderr."""

    help = "Lists what falls due and what it stops. Work that a larger service does too is marked with it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", help="Code of one site; without it all.")
        parser.add_argument("--today", help="As seen on this day, YYYY-MM-DD; without it today, at each site.")
        parser.add_argument("--state", help=f"Only this state: {', '.join(core.STATES)}.")
        parser.add_argument("--json", action="store_true", help="As JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        items = due_list(sites=_sites(options["site"]), today=_day(options["today"]))
        state = _state(options["state"])
        rows = [_row(item, _absorber(item, items)) for item in items if state in (None, item.due.state)]
        if options["json"]:
            self.stdout.write(json.dumps({"due": rows, "caution": CAUTION}, indent=2))
            return
        self.stdout.write(_table(rows) if rows else "Nothing falls due.")
        self.stdout.write(f"\n{CAUTION}")


def _sites(code: str | None) -> list[Site]:
    sites = list(Site.objects.filter(code=code) if code else Site.objects.all())
    if code and not sites:
        known = ", ".join(Site.objects.values_list("code", flat=True)) or "none yet"
        raise CommandError(f"--site {code} is no site: give one of {known}.", returncode=2)
    return sites


def _day(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise CommandError(f"--today {text} is no date: give YYYY-MM-DD, such as 2026-06-10.", returncode=2) from None


def _state(text: str | None) -> str | None:
    if text is not None and text not in core.STATES:
        raise CommandError(f"--state {text!r} is unknown: give one of {', '.join(core.STATES)}.", returncode=2)
    return text


def _absorber(item: DueItem, items: list[DueItem]) -> str | None:
    """Code of the interval whose visit does the item too."""
    same = (other for other in items if other.turbine == item.turbine and other.due.key == item.due.absorbed_by)
    return next((other.interval.code for other in same), None)


def _row(item: DueItem, absorber: str | None) -> dict[str, Any]:
    due = item.due
    return {
        "site": item.turbine.site.code,
        "turbine": item.turbine.code,
        "component": str(item.component) if item.component else None,
        "interval": item.interval.code,
        "procedure": item.interval.procedure.code,
        "state": due.state,
        "last_done": _iso(due.last_done),
        "opens": _iso(due.opens),
        "due": _iso(due.due),
        "closes": _iso(due.closes),
        "days_over": due.days_over,
        "projected": due.projected,
        "statutory": due.statutory,
        "stops": sorted(due.stops),
        "can_stop": sorted(due.can_stop),
        "absorbed_by": absorber,
        "reason": due.reason,
    }


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _table(rows: list[dict[str, Any]]) -> str:
    lines = [HEAD, *map(_line, rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEAD))]
    return "\n".join("  ".join(map(str.ljust, line, widths)).rstrip() for line in lines)


def _line(row: dict[str, Any]) -> tuple[str, ...]:
    """The cells of a row. What a lapse would stop stands in brackets until it has lapsed."""
    work = f"{row['interval']} (done with {row['absorbed_by']})" if row["absorbed_by"] else row["interval"]
    estimated = " estimated" if row["projected"] else ""
    could = f"({', '.join(row['can_stop'])})" if row["can_stop"] else ""
    return (
        row["site"],
        row["turbine"],
        row["component"] or "",
        work,
        row["state"],
        f"{row['due']}{estimated}" if row["due"] else "no date",
        row["closes"] or "",
        str(row["days_over"] or ""),
        ", ".join(row["stops"]) or could,
    )
