"""weather import FILE: take a weather file in, by its recipe or its feed's; all of it or nothing."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import OutputWrapper

from planner.errors import PlannerError
from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.management.weather_actions.options import moment, recipe_of, site_of, written
from scheduling.models import WeatherFeed
from scheduling.services.weather import WeatherImport, feed_keep
from scheduling.tasks import weather_bring
from scheduling.weather.readers import load
from scheduling.weather.readers.rejected import rejected_csv

HELP = "Take a file in. Exit code 0: stored (or there already); 3: the recipe leaves something open; 2: refused."


def add_arguments(parser: ArgumentParser) -> None:
    """What to read, for which site, as what."""
    kinds = [kind.replace(" ", "-") for kind in SeriesKind.values]
    parser.add_argument("file", type=Path)
    parser.add_argument("--site", required=True, help="code of the site")
    parser.add_argument("--feed", help="name of the feed; with --recipe it keeps the recipe for the next file")
    parser.add_argument("--kind", choices=kinds, help="what it is; left out: as the feed says")
    parser.add_argument("--recipe", type=Path, help="how the file is read (JSON); left out: as the feed says")
    parser.add_argument("--issued", type=moment, help="issue time of a forecast, with its offset: 2026-03-01T06:00Z")
    parser.add_argument("--accept-good-rows", action="store_true", help="leave rows out that do not fit; needs --rejected")
    parser.add_argument("--rejected", type=Path, help="where the rows that do not fit are written (CSV)")
    parser.add_argument("--json", action="store_true")


def handle(out: OutputWrapper, options: dict[str, Any]) -> int:
    """Read, store, and write the rows that were left out."""
    site = site_of(options["site"])
    recipe, kind, feed = _how(site, options)
    if options["accept_good_rows"]:
        if options["rejected"] is None:
            raise PlannerError("Say where the rows that do not fit shall go: --rejected FILE.csv.", field="rejected")
        written(options["rejected"], rejected_csv(()))
    done = weather_bring(
        site=site,
        kind=kind,
        content=_content(options["file"]),
        recipe=recipe,
        issued_at=options["issued"],
        feed=feed,
        accept_good_rows=options["accept_good_rows"],
    )
    if options["feed"] and feed is None:
        done.weather_set.feed = feed_keep(site=site, name=options["feed"], kind=kind, recipe=recipe)
        done.weather_set.save(update_fields=["feed"])
    if options["rejected"] is not None:
        written(options["rejected"], rejected_csv(done.rejected))
    out.write(json.dumps(as_json(done), ensure_ascii=False) + "\n" if options["json"] else as_text(done))
    return 0


def as_json(done: WeatherImport) -> dict[str, Any]:
    """What was stored, with the reader's report."""
    row = done.weather_set
    return {"accepted": True, "created": done.created, "weather": row.pk, "variables": row.about["series"], **done.report}


def as_text(done: WeatherImport) -> str:
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
    if done.rejected:
        lines.append(f"  {len(done.rejected):,} rows did not fit and were left out")
    return "\n".join(lines) + "\n"


def _how(site: Site, options: dict[str, Any]) -> tuple[dict[str, Any], str, WeatherFeed | None]:
    """(recipe, kind, feed whose recipe it is): from the options, or else from the feed."""
    kind = (options["kind"] or "").replace("-", " ")
    if options["recipe"] is not None:
        if not kind:
            raise PlannerError("Say what it is with --kind, for example --kind forecast.", field="kind")
        return recipe_of(options["recipe"]), kind, None
    if not options["feed"]:
        raise PlannerError("Say how the file is read: --recipe FILE.json, or --feed NAME of a feed that knows.", field="recipe")
    feed = WeatherFeed.objects.filter(site=site, name=options["feed"]).first()
    if feed is None:
        known = ", ".join(WeatherFeed.objects.filter(site=site).values_list("name", flat=True)) or "none yet"
        raise PlannerError(f"{site.code} has no feed {options['feed']!r}; known are {known}.", field="feed")
    return feed.recipe, kind or feed.kind, feed


def _content(path: Path) -> bytes:
    try:
        return load(path)
    except ValueError as error:
        raise PlannerError(str(error), field="file") from error
