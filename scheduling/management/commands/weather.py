"""manage.py weather import FILE: take a weather file in, by its recipe; all of it or nothing."""

from __future__ import annotations

import json
from argparse import ArgumentParser, ArgumentTypeError
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from planner.errors import PlannerError
from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.services.weather import WeatherImport, weather_import

BAD_INPUT, NEEDS_ANSWER = 2, 3


class Command(BaseCommand):
    help = "Take weather in. Exit code 0: stored (or there already); 3: the recipe leaves something open; 2: refused."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to read, for which site, as what."""
        parser.add_argument("action", choices=["import"])
        parser.add_argument("file", type=Path)
        parser.add_argument("--site", required=True, help="code of the site")
        parser.add_argument("--kind", required=True, choices=[kind.replace(" ", "-") for kind in SeriesKind.values])
        parser.add_argument("--recipe", required=True, type=Path, help="how the file is read (JSON)")
        parser.add_argument("--issued", type=_moment, help="issue time of a forecast, with its offset: 2026-03-01T06:00Z")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Read and store."""
        try:
            done = weather_import(
                site=_site(options["site"]),
                kind=options["kind"].replace("-", " "),
                content=_bytes(options["file"]),
                recipe=_recipe(options["recipe"]),
                issued_at=options["issued"],
            )
        except PlannerError as error:
            if options["json"]:
                told = {"accepted": False, "reason": error.message, "ask": error.extra.get("ask", [])}
                self.stdout.write(json.dumps(told, ensure_ascii=False))
            raise CommandError(error.message, returncode=NEEDS_ANSWER if error.extra.get("ask") else BAD_INPUT) from error
        self.stdout.write(json.dumps(import_json(done), ensure_ascii=False) if options["json"] else import_text(done))


def import_json(done: WeatherImport) -> dict[str, Any]:
    """What was stored, with the reader's report."""
    row = done.weather_set
    return {"accepted": True, "created": done.created, "weather": row.pk, "variables": row.about["series"], **done.report}


def import_text(done: WeatherImport) -> str:
    """The same in lines."""
    report, row = done.report, done.weather_set
    head = f"{row}: {report['rows_read']:,} rows, {report['first']} to {report['last']}, every {report['step_min']} min"
    lines = [head if done.created else f"Already there. {head}"]
    for one in row.about["series"]:
        lines.append(
            f"  {one['name']}: {one['variable']} in {one['unit']} at {one['height_m']:g} m, {one['averaging_min']:g} min"
        )
    counts = (f"{len(report['gaps'])} gaps", f"{report['duplicates']} doubled times", f"{report['rows_skipped']} rows skipped")
    lines.append("  " + ", ".join(counts))
    for run in report["flags"]:
        lines.append(f"  {run['rule']}: {run['column']} {run['start']} to {run['end']}, {run['rows']} rows not used")
    return "\n".join(lines) + "\n"


def _site(code: str) -> Site:
    site = Site.objects.filter(code=code).first()
    if site is None:
        known = ", ".join(Site.objects.values_list("code", flat=True)) or "none yet"
        raise PlannerError(f"There is no site {code!r}; known are {known}.", field="site")
    return site


def _bytes(path: Path) -> bytes:
    if not path.is_file():
        raise PlannerError(f"{path}: there is no such file; check the path.", field="file")
    return path.read_bytes()


def _recipe(path: Path) -> dict[str, Any]:
    try:
        data: dict[str, Any] = json.loads(_bytes(path))
    except ValueError as error:
        raise PlannerError(f"{path} is no JSON ({error}).", field="recipe") from error
    return data


def _moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no time: give one like 2026-03-01T06:00Z.") from None
    if found.tzinfo is None:
        raise ArgumentTypeError(f"{text!r} has no offset from UTC: give one like 2026-03-01T06:00Z.")
    return found
