"""The form of the Weather page that takes in the next file of a feed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from planner.errors import PlannerError
from planner.models import Site
from planner.rest.caller import PLANNERS
from planner.services.access import require_role
from planner.views.forms import words_in
from scheduling.models import WeatherFeed
from scheduling.services.weather import WeatherImport
from scheduling.tasks import weather_bring


def bring(*, user: Any, site: Site, form: Mapping[str, str], files: Mapping[str, Any]) -> WeatherImport:
    """Read a file as its feed says and store it; all of it or nothing. Only a planner of the site may."""
    require_role(user=user, site=site, roles=PLANNERS)
    chosen = form.get("feed", "")
    feed = WeatherFeed.objects.filter(site=site, pk=chosen).first() if chosen.isdecimal() else None
    if feed is None:
        raise PlannerError(f"Choose a feed of {site.name}.", field="feed")
    file = files.get("file")
    if file is None:
        raise PlannerError("Choose the file to take in.", field="file")
    issued_at = _moment(words_in(form, "issued", "Issued", most=40))
    return weather_bring(site=site, kind=feed.kind, content=file.read(), recipe=feed.recipe, issued_at=issued_at, feed=feed)


def brought(done: WeatherImport) -> str:
    """What was taken in, in a sentence or two."""
    report = done.report
    head = f"{report['rows_read']:,} rows of {done.weather_set} are stored" if done.created else "That file was there already"
    flagged = sum(run["rows"] for run in report["flags"])
    counts = f"{len(report['gaps'])} gaps, {report['duplicates']} doubled times, {flagged:,} values flagged and not used"
    return f"{head}: {counts}."


def _moment(text: str) -> datetime | None:
    """The issue time with its offset; None where nothing was given, and the file must say it."""
    if not text:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise PlannerError(f"Issued {text!r} is no time: give one such as 2026-03-01T06:00Z.", field="issued") from None
    if found.tzinfo is None:
        raise PlannerError(f"Issued {text!r} has no offset from UTC: give one such as 2026-03-01T06:00Z.", field="issued")
    return found
