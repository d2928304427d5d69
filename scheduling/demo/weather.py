"""A real open series, or the user's own file, as past years and as the forecast of the demo.

The stretch of the series that lies at the same time of a year as the demo stands for the forecast: it is moved by whole days
to the demo's dates. Past years beyond the two of the open series are made by moving ten-day blocks of them (seeded) and are
called "resampled".
"""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from django.conf import settings

from planner.errors import PlannerError
from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.services.weather import feed_keep, weather_read, weather_store
from scheduling.weather.members import members_of
from scheduling.weather.series import FloatArray, Series

FIXTURES = Path(settings.BASE_DIR) / "fixtures"
OPEN_SERIES = FIXTURES / "weather" / "hourly_50m_2015_2016.csv.gz"
OPEN_RECIPE = FIXTURES / "recipes" / "brightwind_merra2.json"
FORECAST_DAYS = 16
RESAMPLED_YEARS = 8
BLOCK_H = 240
FEED = "open series"
DAY = timedelta(days=1)


def weather_load(
    *,
    sites: list[Site],
    now: datetime,
    seed: int,
    file: Path | None = None,
    recipe: Path | None = None,
    stretch_from: datetime | None = None,
) -> dict[str, Any]:
    """Store past years and the forecast for every site; gives the reader's report."""
    own = file is not None
    content, plain = _source(file, recipe)
    reading = weather_read(content=content, recipe=plain)
    stretch = forecast_stretch(reading.series, now, stretch_from)
    report = reading.report.to_json()
    for site in sites:
        weather_store(site=site, kind=SeriesKind.PAST, series=reading.series, report=report, recipe=plain)
        if not own:
            for number in range(RESAMPLED_YEARS):
                made = resampled_year(reading.series, 2000 + number, seed + number)
                weather_store(site=site, kind=SeriesKind.PAST, series=made, report={"resampled": True}, recipe=plain)
        feed = feed_keep(site=site, name=FEED, kind=SeriesKind.FORECAST, recipe=plain)
        for issued_at, told in ((now - DAY, yesterdays(stretch, seed)), (now, stretch)):
            weather_store(site=site, kind=feed.kind, series=told, issued_at=issued_at, feed=feed, report=report, recipe=plain)
    return report


def yesterdays(series: tuple[Series, ...], seed: int) -> tuple[Series, ...]:
    """What yesterday's forecast may have said of the same hours: the wind with one seeded draw of the usual error a day on."""
    lead_h = np.asarray(24.0 + np.arange(len(series[0].values)) * (series[0].step_min / 60.0), dtype=np.float64)
    return tuple(_mistaken(one, lead_h, seed) if one.variable in ("wind", "gust") else one for one in series)


def _mistaken(one: Series, lead_h: FloatArray, seed: int) -> Series:
    return replace(one, values=members_of(one.values, lead_h, count=2, seed=seed)[0].astype(np.float64))


def _source(file: Path | None, recipe: Path | None) -> tuple[bytes, dict[str, Any]]:
    if file is None:
        return gzip.decompress(OPEN_SERIES.read_bytes()), json.loads(OPEN_RECIPE.read_text(encoding="utf-8"))
    if recipe is None:
        raise PlannerError("Say how the file is read: give --recipe RECIPE.json beside --weather FILE.", field="recipe")
    for path, name in ((file, "weather"), (recipe, "recipe")):
        if not path.is_file():
            raise PlannerError(f"{path}: there is no such file; check the path.", field=name)
    try:
        return file.read_bytes(), json.loads(recipe.read_text(encoding="utf-8"))
    except ValueError as error:
        raise PlannerError(f"{recipe} is no JSON ({error}).", field="recipe") from error


def forecast_stretch(series: tuple[Series, ...], now: datetime, stretch_from: datetime | None) -> tuple[Series, ...]:
    """The stretch that stands for the forecast, moved by whole days so that it begins on the hour of `now`.

    Without `stretch_from` it is the latest one at the same time of the year that the series covers, else its last days.
    """
    start = now.replace(minute=0, second=0, microsecond=0)
    first = series[0]
    found = stretch_from or _same_season(first, start)
    if found < first.start or found + timedelta(days=1) > first.end:
        raise PlannerError(
            f"The series covers {first.start:%Y-%m-%d} to {first.end:%Y-%m-%d}, not {found:%Y-%m-%d}.", field="from"
        )
    shift = start - found
    until = min(found + timedelta(days=FORECAST_DAYS), first.end)
    return tuple(replace(part, start=part.start + shift) for part in (one.between(found, until) for one in series))


def _same_season(first: Series, start: datetime) -> datetime:
    for year in range(first.end.year, first.start.year - 1, -1):
        day = min(start.day, 28) if start.month == 2 else start.day
        found = start.replace(year=year, day=day)
        if first.start <= found and found + timedelta(days=FORECAST_DAYS) <= first.end:
            return found
    latest = first.end - timedelta(days=FORECAST_DAYS)
    found = latest.replace(hour=start.hour, minute=0) - timedelta(days=1)
    return max(found, first.start)


def resampled_year(series: tuple[Series, ...], year: int, seed: int) -> tuple[Series, ...]:
    """One year made of ten-day blocks of the real series, each from the same time of one of its years (within 15 days)."""
    random = np.random.default_rng(seed)
    first = series[0]
    per_block = BLOCK_H * 60 // first.step_min
    picked = []
    begin = datetime(year, 1, 1, tzinfo=UTC)
    for block in range(0, 366 * 24, BLOCK_H):
        real_year = int(random.integers(first.start.year, first.end.year))
        moved = begin.replace(year=real_year) + timedelta(hours=block) + timedelta(days=int(random.integers(-15, 16)))
        at = int(np.clip(first.index(moved), 0, len(first.values) - per_block))
        picked.append(np.arange(at, at + per_block))
    index = np.concatenate(picked)[: 366 * 24 * 60 // first.step_min]
    return tuple(replace(one, start=begin, values=one.values[index], flags=one.flags[index]) for one in series)
