"""manage.py go: go, wait or no-go for each team of a day."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from planner.cautions import CAUTION
from planner.clock import today_at
from planner.errors import PlannerError
from scheduling.management.options import base_named, local_day
from scheduling.services.dispatch import morning
from scheduling.telling import call_json

GO, NOBODY_GOES, BAD_INPUT = 0, 3, 2


class Command(BaseCommand):
    help = "Say for each team of a day: go, wait or no-go. Exit code 0: somebody may go; 3: nobody; 2: bad input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which base and day."""
        parser.add_argument("--base", help="name of the base; not needed where there is one")
        parser.add_argument("--day", type=local_day, help="YYYY-MM-DD; otherwise today")
        parser.add_argument("--keep", action="store_true", help="keep what is said as the day's calls")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Decide and say."""
        try:
            base = base_named(options["base"])
            day = options["day"] or today_at(base.zone)
            calls = morning(base=base, day=day, record=options["keep"])
        except PlannerError as error:
            raise CommandError(error.message, returncode=BAD_INPUT) from error
        rows = [call_json(call) for call in calls]
        if options["json"]:
            self.stdout.write(json.dumps({"day": day.isoformat(), "calls": rows, "caution": CAUTION}, ensure_ascii=False))
        else:
            self.stdout.write(calls_text(day.isoformat(), rows))
        if not any(row["verdict"] == "go" for row in rows):
            raise SystemExit(NOBODY_GOES)


def calls_text(day: str, rows: list[dict[str, Any]]) -> str:
    """The calls as lines."""
    lines = [f"{day}: {len(rows)} visits. {CAUTION}"]
    for row in rows:
        start = f"start {row['start'][11:16]}, down by {row['down_by'][11:16]}" if row["start"] else "no start"
        lines.append(f"  {row['verdict'].upper():<6} {row['turbine']:<6} {start:<30} {row['chance']:>4.0%}  {row['team']}")
        limit = row["limit"]
        if limit is not None:
            value = "unknown" if limit["value"] is None else f"{limit['value']:.1f}"
            lines.append(f"         {limit['name']} {value} of {limit['op']} {limit['limit']:g} {limit['unit']}")
        if row["verdict"] != "go":
            lines += [f"         {text}" for text in row["reasons"]]
    return "\n".join(lines) + "\n"
