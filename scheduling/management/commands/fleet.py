"""manage.py fleet: solve the fortnights of many bases at once through the queue, and watch until the last part has ended."""

from __future__ import annotations

import json
import sys
import time
from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Base
from scheduling.choices import OPEN
from scheduling.embedded import WorkerDidNotStart, embedded_worker
from scheduling.management.options import base_named, local_day
from scheduling.models import Fleet
from scheduling.services.fleets import fleet_close
from scheduling.tasks import fleet_ask
from scheduling.telling_fleet import fleet_json, fleet_text
from scheduling.watching import LOOK_S

NOT_ALL, BAD_INPUT = 3, 2


class Command(BaseCommand):
    help = "Solve the fortnights of many bases. Exit code 0: no part failed; 3: one did, or things used twice; 2: bad input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which bases, from when, how long."""
        parser.add_argument("--base", action="append", help="name of a base, any number of times; otherwise all")
        parser.add_argument("--first", type=local_day, help="first day, YYYY-MM-DD; otherwise tomorrow (UTC)")
        parser.add_argument("--days", type=int, default=14)
        parser.add_argument("--time", type=float, default=float(settings.SOLVE_LIMIT_S), help="seconds at most for each base")
        parser.add_argument("--gap", type=float, default=0.01)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask, watch, tell."""
        try:
            named = options["base"]
            fleet = self._solve([base_named(name) for name in named] if named else None, options)
        except (PlannerError, WorkerDidNotStart) as error:
            raise CommandError(str(error), returncode=BAD_INPUT) from error
        self.stdout.write(json.dumps(fleet_json(fleet), indent=1, ensure_ascii=False) if options["json"] else fleet_text(fleet))
        if fleet.is_open or fleet.stop_asked or fleet.outcome["failed"] or fleet.clashes:
            raise CommandError(fleet.text or f"Fleet {fleet.pk} has not ended: look at its page.", returncode=NOT_ALL)

    def _solve(self, bases: list[Base] | None, options: dict[str, Any]) -> Fleet:
        first: date = options["first"] or now_utc().date() + timedelta(days=1)
        params = {"time_limit_s": options["time"], "gap": options["gap"]}
        asked = {"first_day": first, "days": options["days"], "seed": options["seed"], "params": params}
        with embedded_worker():
            fleet = fleet_ask(bases=bases, by=None, **asked)
            return self._watch(fleet, fleet.parts.count() * (options["time"] + 120))

    def _watch(self, fleet: Fleet, most_s: float) -> Fleet:
        """Tell of each part that ends, until all have or `most_s` seconds have passed."""
        told, count, deadline = 0, fleet.parts.count(), time.monotonic() + most_s
        while fleet.is_open and time.monotonic() < deadline:
            ended = count - fleet.parts.filter(state__in=OPEN).count()
            if ended != told:
                told = ended
                print(f"  {ended} of {count} parts have ended", file=sys.stderr, flush=True)
            if ended == count:
                fleet_close(fleet_id=fleet.pk)
            else:
                time.sleep(LOOK_S)
            fleet.refresh_from_db()
        return fleet
