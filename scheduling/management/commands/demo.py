"""manage.py demo: the whole job once, on an invented farm and real weather."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, ArgumentTypeError
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from planner.errors import PlannerError
from scheduling.management.options import local_day


class Command(BaseCommand):
    help = "Lay an invented farm, plan its year and fortnight around real weather, and say this morning who may climb."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What may be changed about the demo."""
        parser.add_argument("--today", type=local_day, help="the demo's first day, YYYY-MM-DD; otherwise today or tomorrow")
        parser.add_argument("--weather", type=Path, help="a weather file of your own")
        parser.add_argument("--recipe", type=Path, help="how that file is read (JSON)")
        parser.add_argument(
            "--from", dest="stretch", type=_moment, help="start of the stretch that stands for the forecast (UTC)"
        )
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--time", type=float, default=40.0, help="seconds for the fortnight")
        parser.add_argument("--json", action="store_true", help="print the same as data")

    def handle(self, *args: Any, **options: Any) -> None:
        """Do the job; progress goes to standard error, the page to standard output."""
        from scheduling.demo.job import Asked, demo_run
        from scheduling.demo.page import page
        from scheduling.demo.report import report_of

        call_command("migrate", verbosity=0)
        asked = Asked(
            today=options["today"],
            weather=options["weather"],
            recipe=options["recipe"],
            stretch_from=options["stretch"],
            seed=options["seed"],
            fortnight_s=options["time"],
        )
        try:
            report = report_of(demo_run(asked, self._say))
        except PlannerError as error:
            raise CommandError(error.message, returncode=2) from error
        self.stdout.write(json.dumps(report, indent=1, ensure_ascii=False) if options["json"] else page(report))

    def _say(self, text: str) -> None:
        print(text, file=sys.stderr, flush=True)


def _moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no time: give one like 2016-03-02T00:00.") from None
    return found.astimezone(UTC) if found.tzinfo else found.replace(tzinfo=UTC)
