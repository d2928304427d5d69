"""Taking weather in. The only writer of WeatherSet."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction

from planner.errors import PlannerError
from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.models import WeatherFeed, WeatherSet
from scheduling.weather.archive import pack_series
from scheduling.weather.readers import AnswerNeeded, Reading, read
from scheduling.weather.readers.faults import RowsRefused
from scheduling.weather.readers.report import Rejected
from scheduling.weather.recipe import RecipeIncomplete, recipe_from_json
from scheduling.weather.series import Series

FEED_NAME_LENGTH = 60


@dataclass(frozen=True)
class WeatherImport:
    """What an import did. `created` is False when the same content was there already.

    rejected   rows that did not fit, left out because the caller accepted the good ones
    """

    weather_set: WeatherSet
    report: dict[str, Any]
    created: bool
    rejected: tuple[Rejected, ...] = ()


def weather_import(
    *,
    site: Site,
    kind: str,
    content: bytes,
    recipe: dict[str, Any],
    issued_at: datetime | None = None,
    feed: WeatherFeed | None = None,
    accept_good_rows: bool = False,
) -> WeatherImport:
    """Read a file by its recipe and store its series; all of it or nothing, unless the good rows are accepted alone.

    A forecast's issue time is taken from the file where it states one and none is given.
    Raises PlannerError with one sentence when the recipe leaves something open or the file does not fit it.
    """
    reading = weather_read(content=content, recipe=recipe, accept_good_rows=accept_good_rows)
    report = reading.report.to_json() | {"rejected": len(reading.rejected)}
    stored, created = weather_store(
        site=site,
        kind=kind,
        series=reading.series,
        issued_at=issued_at or (reading.issued_at if kind == SeriesKind.FORECAST else None),
        feed=feed,
        report=report,
        recipe=recipe,
    )
    return WeatherImport(stored, report, created, reading.rejected)


def weather_read(*, content: bytes, recipe: dict[str, Any], accept_good_rows: bool = False) -> Reading:
    """Read a file without storing it."""
    try:
        return read(content, recipe_from_json(recipe), good_rows_only=accept_good_rows)
    except (RecipeIncomplete, AnswerNeeded) as error:
        ask = [{"field": one.field, "text": one.text, "choices": list(one.choices)} for one in error.ask]
        raise PlannerError(str(error), field="recipe", extra={"ask": ask}) from error
    except RowsRefused as error:
        text = f"{error} Correct them, or accept the good rows alone."
        raise PlannerError(text, field="content", extra={"rejected": error.bad, "rows": error.rows}) from error
    except ValueError as error:
        raise PlannerError(str(error), field="content") from error


def weather_store(
    *,
    site: Site,
    kind: str,
    series: tuple[Series, ...],
    issued_at: datetime | None = None,
    feed: WeatherFeed | None = None,
    report: dict[str, Any] | None = None,
    recipe: dict[str, Any] | None = None,
) -> tuple[WeatherSet, bool]:
    """Store series of one grid. The same content a second time gives the row that is there."""
    _check(kind, series, issued_at)
    data, about = pack_series(series)
    first = series[0]
    digest = _digest(data, about, first, issued_at)
    row = WeatherSet(
        site=site,
        feed=feed,
        kind=kind,
        issued_at=issued_at,
        starts_at=first.start,
        ends_at=first.end,
        step_min=first.step_min,
        members=max(1, *(one.member for one in series)),
        about={"series": about, "report": report or {}, "recipe": recipe or {}},
        data=data,
        digest=digest,
    )
    there = WeatherSet.objects.filter(site=site, kind=kind, digest=digest).first()
    if there is not None:
        return there, False
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        # Somebody stored the same file at the same moment; theirs is as good as ours.
        return WeatherSet.objects.get(site=site, kind=kind, digest=digest), False
    return row, True


def feed_keep(*, site: Site, name: str, kind: str, recipe: dict[str, Any]) -> WeatherFeed:
    """Keep how the files of a feed are read, so that its next one needs nothing but the feed's name."""
    try:
        recipe_from_json(recipe)
    except ValueError as error:
        raise PlannerError(str(error), field="recipe") from error
    if not name.strip() or len(name) > FEED_NAME_LENGTH:
        raise PlannerError(f"The feed's name has {len(name)} characters: give 1 to {FEED_NAME_LENGTH}.", field="feed")
    feed, _ = WeatherFeed.objects.update_or_create(site=site, name=name, defaults={"recipe": recipe, "kind": kind})
    return feed


def _check(kind: str, series: tuple[Series, ...], issued_at: datetime | None) -> None:
    if kind not in SeriesKind.values:
        raise PlannerError(f"{kind!r} is not known: give one of {', '.join(SeriesKind.values)}.", field="kind")
    if not any(one.variable == "wind" for one in series):
        raise PlannerError("There is no wind in it: name one column as wind in the recipe.", field="recipe")
    if kind != SeriesKind.FORECAST:
        return
    if issued_at is None:
        raise PlannerError("A forecast needs its issue time, with its offset from UTC.", field="issued_at")
    if issued_at.tzinfo is None:
        raise PlannerError("The issue time has no offset: write it as 2026-03-01T06:00:00Z.", field="issued_at")
    if issued_at > series[0].end:
        raise PlannerError("The issue time lies after the last value: it forecasts nothing.", field="issued_at")
    if issued_at < series[0].start - timedelta(days=7):
        raise PlannerError("The issue time lies more than a week before the first value: check both.", field="issued_at")


def _digest(data: bytes, about: list[dict[str, Any]], first: Series, issued_at: datetime | None) -> str:
    grid = [first.start.isoformat(), first.step_min, issued_at.isoformat() if issued_at else ""]
    return hashlib.sha256(data + json.dumps([about, grid], sort_keys=True).encode()).hexdigest()
