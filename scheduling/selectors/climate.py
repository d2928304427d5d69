"""The wind climate of a site: what past years say about the weeks of a year."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.core.cache import cache

from planner.errors import PlannerError
from planner.models import LimitSet, Site, Turbine
from scheduling.access import LimitSet as CoreLimits
from scheduling.builders.climate import lost_per_hour
from scheduling.builders.limits import limit_set_of
from scheduling.builders.past import Hours, Stretch, stretches_of, working_hours
from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.selectors.climate_words import NO_HISTORY, NO_TURBINE, notes_of, shear_words, skipped
from scheduling.weather.climate import OverYears, Past, Table, joined, month_tables, week_tables
from scheduling.weather.persistence import exponential_wait_h, markov_of, spells_of
from scheduling.weather.series import FloatArray

ALL_DAY = Hours(0.0, 24.0)
CACHE_S = 24 * 3600
#: Raised whenever the figures are worked out differently, so that no old answer is shown.
VERSION = 1


@dataclass(frozen=True)
class Figures:
    """The figures of one week or month (`number`) by name; see weather.climate.tables for what each means."""

    number: int
    over_years: dict[str, OverYears]


@dataclass(frozen=True)
class Estimate:
    """Counted round the clock on one record, with two closed forms beside the count; None where no change was seen.

    The forms know no seasons and no nights: exponential calms and storms in turn, and a first-order Markov chain.
    """

    known_h: float
    share: float
    mean_calm_h: float
    mean_storm_h: float
    wait_counted_h: float
    wait_exponential_h: float
    wait_markov_h: float


@dataclass(frozen=True)
class SiteClimate:
    """What is known of a site, limit set and stay. Without history `years` is empty and `notes` says why."""

    years: tuple[int, ...]
    weeks: tuple[Figures, ...]
    months: tuple[Figures, ...]
    workable_h: dict[int, tuple[float | None, ...]]
    hub_m: float | None
    shear: str
    hours: Hours
    notes: tuple[str, ...]
    estimate: Estimate | None


def site_climate(*, site: Site, limit_set: LimitSet, stay_min: float, all_hours: bool = False) -> SiteClimate:
    """Figures by ISO week and month from the site's stored past weather, for the highest hub of the site.

    Counted are the hours of the working day of the base's shifts (or all of them), and of daylight where the limit set asks.
    Raises PlannerError for a stay that cannot be or does not fit the working day, or a limit set without limits.
    """
    hours = ALL_DAY if all_hours else working_hours(site.base)
    _check_stay(stay_min, hours)
    try:
        core = limit_set_of(limit_set)
    except ValueError as error:
        raise PlannerError(str(error), field="limit_set") from error
    turbines = list(Turbine.objects.filter(site=site).select_related("type").order_by("pk"))
    known = list(
        WeatherSet.objects.filter(site=site, kind=SeriesKind.PAST).order_by("starts_at", "pk").values_list("pk", "digest")
    )
    key = _key(site, core, stay_min, hours, turbines, known)
    found: SiteClimate | None = cache.get(key)
    if found is None:
        found = _worked_out(site, core, stay_min, hours, turbines, [pk for pk, _ in known])
        cache.set(key, found, CACHE_S)
    return found


def _check_stay(stay_min: float, hours: Hours) -> None:
    if not 0 < stay_min <= 24 * 60:
        raise PlannerError(f"A stay of {stay_min:g} min cannot be: give 1 to 1440 minutes.", field="stay_min")
    if stay_min > (hours.closes_h - hours.opens_h) * 60:
        raise PlannerError(
            f"A stay of {stay_min:g} min does not fit the working day of {hours}: give a shorter one, or count all hours.",
            field="stay_min",
        )


def _key(site: Site, core: CoreLimits, stay_min: float, hours: Hours, turbines: list[Turbine], known: list[Any]) -> str:
    """Everything the figures hang on; a change of any of it is another key."""
    place = (site.pk, site.time_zone, site.latitude, site.longitude, site.altitude_m, site.shear_exponent)
    kinds = [(one.hub_height_m, one.type.power_curve, one.type.cut_out_mps) for one in turbines]
    told = repr((VERSION, place, core, float(stay_min), hours, kinds, known))
    return f"climate-{hashlib.sha256(told.encode()).hexdigest()}"


def _worked_out(
    site: Site, core: CoreLimits, stay_min: float, hours: Hours, turbines: list[Turbine], pks: list[int]
) -> SiteClimate:
    rows = list(WeatherSet.objects.filter(pk__in=pks).order_by("starts_at", "pk"))
    real = [row for row in rows if not row.about.get("report", {}).get("resampled")]
    stretches = stretches_of(site, real)
    if not turbines or not stretches:
        return _nothing(hours, NO_HISTORY if turbines else NO_TURBINE, skipped(rows, real))
    hub_m = max(one.hub_height_m for one in turbines)
    pasts: list[tuple[Stretch, Past]] = []
    refused: list[str] = []
    for stretch in stretches:
        try:
            pasts.append((stretch, stretch.judged(hub_m, core, stay_min, hours)))
        except ValueError as error:
            refused.append(f"{error}.")
    if not pasts:
        return _nothing(hours, *refused, skipped(rows, real))
    return _answer(site, core, pasts, turbines, hub_m, hours, (*refused, skipped(rows, real)))


def _answer(
    site: Site,
    core: CoreLimits,
    pasts: list[tuple[Stretch, Past]],
    turbines: list[Turbine],
    hub_m: float,
    hours: Hours,
    refused: tuple[str, ...],
) -> SiteClimate:
    weekly = [week_tables(past, _lost(stretch, site, turbines)) for stretch, past in pasts]
    monthly = [month_tables(past) for _, past in pasts]
    weeks = {name: joined([tables[name] for tables in weekly]) for name in weekly[0]}
    months = {name: joined([tables[name] for tables in monthly]) for name in monthly[0]}
    workable = weeks["workable_h"]
    by_year = {year: tuple(None if np.isnan(x) else float(x) for x in row) for year, row in _rows(workable)}
    notes = notes_of(site, core, [one for _, one in pasts], [one for one, _ in pasts], workable, hours)
    shear = shear_words([stretch.hub(hub_m) for stretch, _ in pasts], [stretch.series for stretch, _ in pasts], hub_m)
    longest = max((past for _, past in pasts), key=lambda past: int((~past.unknown).sum()))
    return SiteClimate(
        workable.years, _figures(weeks), _figures(months), by_year, hub_m, shear, hours,
        tuple(note for note in (*notes, *refused) if note), _estimate(longest),
    )  # fmt: skip


def _rows(table: Table) -> list[tuple[int, FloatArray]]:
    return list(zip(table.years, table.values, strict=True))


def _figures(tables: dict[str, Table]) -> tuple[Figures, ...]:
    columns = {name: table.over_years() for name, table in tables.items()}
    width = min(len(column) for column in columns.values())
    return tuple(Figures(n + 1, {name: column[n] for name, column in columns.items()}) for n in range(width))


def _lost(stretch: Stretch, site: Site, turbines: list[Turbine]) -> FloatArray:
    """float64 [n]: MWh an hour of standstill loses, mean over the site's turbines, each at its own hub."""
    counted = Counter((one.hub_height_m, one.type_id) for one in turbines)
    kinds = {one.type_id: one.type for one in turbines}
    total = sum(
        share * lost_per_hour(stretch.series, stretch.hub(height).series, site, kinds[kind])
        for (height, kind), share in counted.items()
    )
    return np.asarray(total, dtype=np.float64) / len(turbines)


def _estimate(past: Past) -> Estimate | None:
    known = ~past.unknown
    spells = spells_of(past.good, known, past.step_h)
    if spells is None:
        return None
    always = Past(past.grid, past.good, past.unknown, np.ones_like(past.good), past.steps, past.zone)
    waits = always.wait_h[np.isfinite(always.wait_h)]
    try:
        chain = markov_of(past.good, known)
    except ValueError:
        return None
    return Estimate(
        spells.known_h, spells.share, spells.mean_calm_h, spells.mean_storm_h,
        float(waits.mean()) if len(waits) else float("nan"),
        exponential_wait_h(past.steps * past.step_h, spells.mean_calm_h, spells.mean_storm_h),
        chain.wait_steps(past.steps) * past.step_h,
    )  # fmt: skip


def _nothing(hours: Hours, *notes: str) -> SiteClimate:
    return SiteClimate((), (), (), {}, None, "", hours, tuple(note for note in notes if note), None)
