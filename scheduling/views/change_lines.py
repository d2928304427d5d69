"""The two latest forecasts side by side: what the newer one changed for each team."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from planner.cautions import STALE
from planner.errors import PlannerError
from planner.models import Site
from planner.views.formats import chance, clock, hours, moment, short_day
from scheduling.builders.stays import by_visit, stay_chances
from scheduling.drawings.wind import WindStrip, scale_top, wind_strip
from scheduling.models import StayCall, Visit, WeatherSet
from scheduling.selectors.stay_calls import calls_from
from scheduling.selectors.weather import age_h, is_stale
from scheduling.views.plan_lines import job_lines, team_of
from scheduling.views.weather_lines import strip_of

REACHED, BELOW, UNKNOWN = (
    {"word": "reached", "shape": "▲", "tint": "go"},
    {"word": "below", "shape": "■", "tint": "no-go"},
    {"word": "unknown", "shape": "·", "tint": "wait"},
)
Told = dict[tuple[int, datetime], StayCall]


def forecast_lines(site: Site, forecasts: Sequence[WeatherSet], day: date, visits: Sequence[Visit], now: datetime) -> Any:
    """The two forecasts with their ages, and their strips on one scale; nothing is drawn where the newest is stale."""
    stale = is_stale(forecasts[0] if forecasts else None, site, now)
    names = ("Newest forecast", "The one before it")
    lines = [_said(name, one, site, now) for name, one in zip(names, forecasts, strict=False)]
    if not stale:
        try:
            strips = [strip_of(site, day, _on(visits, day), one, what) for what, one in zip(names, forecasts, strict=False)]
            _draw(lines, strips)
        except (PlannerError, ValueError) as error:
            lines[0]["said"] += f"; it cannot be drawn: {error}"
    return {"lines": lines, "stale": STALE if stale else "", "day": short_day(day)}


def _draw(lines: list[dict[str, str]], strips: Sequence[WindStrip]) -> None:
    top = max(scale_top(strip) for strip in strips)
    for line, strip in zip(lines, strips, strict=True):
        line["strip"], line["how"] = wind_strip(strip, top), strip.note


def _said(name: str, forecast: WeatherSet, site: Site, now: datetime) -> dict[str, str]:
    said = f"issued {moment(forecast.issued_at, site.zone)}, {hours(age_h(forecast, now))} old"
    return {"name": name, "said": f"{said}, tells until {moment(forecast.ends_at, site.zone)}", "strip": ""}


def _on(visits: Sequence[Visit], day: date) -> list[Visit]:
    return [visit for visit in visits if visit.day == day]


def change_lines(site: Site, forecasts: Sequence[WeatherSet], visits: Sequence[Visit], now: datetime) -> dict[str, Any]:
    """One row for each stay to come, and a sentence that sums them up. `beyond` counts those the newest forecast ends before."""
    if not forecasts:
        return {"rows": [], "summary": "", "beyond": 0}
    near = [visit for visit in visits if visit.starts_at < forecasts[0].ends_at]
    told = calls_from(visits=near, issues=[one.issued_at for one in forecasts if one.issued_at])
    stale = is_stale(forecasts[0], site, now)
    why, *_ = [{}] if stale else [_catch_up(site, one, near, told) for one in forecasts]
    rows = [_row(site, visit, forecasts, told, STALE if stale else why.get(visit.pk, "")) for visit in near]
    return {"rows": rows, "summary": _summary(rows, site, len(forecasts)), "beyond": len(visits) - len(near)}


def _catch_up(site: Site, forecast: WeatherSet, visits: Sequence[Visit], told: Told) -> dict[int, str]:
    """Calls that are not kept, or not yet (a stay published after the forecast was replaced), are worked out here and not
    kept; visit id -> why there is none."""
    issued_at = forecast.issued_at
    without = [visit for visit in visits if issued_at and (visit.pk, issued_at) not in told]
    found = by_visit(stay_chances(site, forecast, without)) if without else {}
    for pk, one in found.items():
        if one.chance is not None and issued_at:
            about = {"first_start": _text(one.first_start), "down_by": _text(one.down_by), "binds": one.binds}
            told[pk, issued_at] = StayCall(visit=one.visit, chance=one.chance, about=about)
    return {pk: one.why for pk, one in found.items() if one.chance is None}


def _text(when: datetime | None) -> str | None:
    return when.isoformat() if when else None


def _row(site: Site, visit: Visit, forecasts: Sequence[WeatherSet], told: Told, unknown: str) -> dict[str, Any]:
    now = None if unknown else _call(visit, forecasts[0], told)
    before = _call(visit, forecasts[1], told) if len(forecasts) > 1 else None
    return {
        "day": short_day(visit.day),
        "turbine": visit.turbine.code,
        "team": team_of(visit),
        "jobs": job_lines(visit),
        "planned": clock(visit.starts_at, site.zone),
        "chance": (_chance(before), _chance(now)),
        "first": (_at(before, "first_start", site), _at(now, "first_start", site)),
        "down": (_at(before, "down_by", site), _at(now, "down_by", site)),
        "mark": UNKNOWN if now is None else REACHED if _reaches(now, site) else BELOW,
        "words": verdict_words(before, now, site),
        "binds": unknown if now is None else now.about.get("binds", ""),
    }


def _call(visit: Visit, forecast: WeatherSet, told: Told) -> StayCall | None:
    return told.get((visit.pk, forecast.issued_at)) if forecast.issued_at else None


def _reaches(call: StayCall, site: Site) -> bool:
    return call.chance >= site.confidence - 1e-9


def _chance(call: StayCall | None) -> str:
    return chance(call.chance) if call else "no call"


def _at(call: StayCall | None, name: str, site: Site) -> str:
    if call is None:
        return "unknown"
    kept = call.about.get(name)
    return clock(datetime.fromisoformat(kept), site.zone) if kept else "none"


def verdict_words(before: StayCall | None, now: StayCall | None, site: Site) -> str:
    """What became of the stay between two forecasts, against the confidence the site asks for."""
    asked = f"the asked {chance(site.confidence)}"
    if now is None:
        return "unknown now: not to be gone by"
    if before is None:
        return f"reaches {asked}; no call before" if _reaches(now, site) else f"below {asked}; no call before"
    if _reaches(now, site):
        return f"still reaches {asked}" if _reaches(before, site) else f"now reaches {asked}"
    return f"now below {asked}" if _reaches(before, site) else f"still below {asked}"


def _summary(rows: Sequence[dict[str, Any]], site: Site, forecasts: int) -> str:
    """How many stays are below the asked chance or unknown, and how many turned, in two sentences."""
    if not rows:
        return "No published stay lies ahead within the newest forecast."
    below, unknown = (sum(row["mark"] is mark for row in rows) for mark in (BELOW, UNKNOWN))
    if unknown == len(rows):
        return f"Nothing can be said of the {len(rows)} stay{'s' if len(rows) != 1 else ''} ahead."
    head = f"Of {len(rows)} stay{'s' if len(rows) != 1 else ''} ahead, {below or 'none'} {_are(below)} below the asked "
    head += f"{chance(site.confidence)}" + (f" and {unknown} {_are(unknown)} unknown." if unknown else ".")
    if forecasts < 2:
        return f"{head} Only one forecast is there, so nothing can be compared yet."
    fell, rose = (sum(row["words"].startswith(words) for row in rows) for words in ("now below", "now reaches"))
    turned = " and ".join(f"{n} {words}" for n, words in ((fell, "fell below it"), (rose, "came up to it")) if n)
    return f"{head} Against the forecast before, {turned or 'none turned'}."


def _are(count: int) -> str:
    return "is" if count <= 1 else "are"
