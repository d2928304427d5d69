"""What a what-if stands on: the problem of a moment with what the register says beside it, and tables for other limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from planner.errors import ConflictError, PlannerError
from planner.models import Base, LimitSet, Site, Turbine
from scheduling.access import LimitSet as LimitSetRecord
from scheduling.access import pack_members, workable
from scheduling.builders.fortnight import Builder
from scheduling.builders.horizon import SLOT_MIN, Span, horizon_of
from scheduling.builders.limits import limit_set_of
from scheduling.builders.orders import closings_on, window_key
from scheduling.builders.site_weather import SiteWeather, site_weather
from scheduling.fortnight.changes import Register
from scheduling.fortnight.changes.base import limit_set_in
from scheduling.fortnight.changes.numbers import QUANTITIES
from scheduling.fortnight.problem import Problem
from scheduling.models import WeatherSet
from workorders.choices import Klass
from workorders.models import Order

LATER_MIN = 180
"""Room at the end of each day for longer shifts."""

Asked = Mapping[str, Mapping[str, float]]
"""limit set -> variable -> limit, m/s."""


@dataclass(frozen=True)
class Frozen:
    """The problem, the register beside it, and the forecasts it stands on (site code -> id)."""

    problem: Problem
    register: Register
    forecasts: dict[str, int]


def what_if_frozen(*, base: Base, first_day: date, days: int, now: datetime, seed: int = 1) -> Frozen:
    """Everything changes may be laid on, from the rows of `now`. Raises PlannerError as fortnight_problem does."""
    sites = list(base.sites.select_related("rule_set"))
    if not sites:
        raise PlannerError(f"{base} has no site: give a site this base first.", field="base")
    builder = Builder(base, sites, horizon_of(base, first_day, days, LATER_MIN), now, seed)
    problem = builder.problem()
    rows = builder.rows
    register = Register(
        statutory=tuple(sorted(row.number for row in rows if _by_law(row))),
        closed={row.number: closed for row in rows if (closed := _closed(row, builder))},
        waits_for={row.number: _parts(row) for row in rows if row.pk in builder.ground.parts_from},
        limits=_limits({limit_set_in(key) for key in problem.workable}),
    )
    forecasts = {one.site.code: one.forecast.pk for one in builder.weather.values()}
    return Frozen(problem, register, forecasts)


def _by_law(row: Order) -> bool:
    return row.klass == Klass.STATUTORY or bool(row.interval and row.interval.statutory)


def _closed(row: Order, builder: Builder) -> dict[str, tuple[str, ...]]:
    whats = {day: tuple(what for what, _ in closings_on(row, builder.ground, day)) for day in range(builder.horizon.days)}
    return {str(day): found for day, found in whats.items() if found}


def _parts(row: Order) -> tuple[str, ...]:
    return tuple(str(need.part) for need in row.procedure.part_needs.all())


def _limits(codes: Iterable[str]) -> dict[str, dict[str, float]]:
    """The strictest wind and gust limit of each limit set."""
    found: dict[str, dict[str, float]] = {}
    for row in LimitSet.objects.filter(code__in=codes).prefetch_related("limits"):
        for one in limit_set_of(row).limits:
            if one.variable in QUANTITIES:
                own = found.setdefault(row.code, {})
                own[one.variable] = min(one.kept_value, own.get(one.variable, one.kept_value))
    return found


def limit_tables(
    *, base: Base, problem: Problem, forecasts: Mapping[str, int], made_at: datetime, asked: Asked
) -> dict[str, str]:
    """key of Problem.workable -> the table with the limits asked for, from the forecasts the problem stands on.

    Raises ConflictError when those are gone, or when limits or the forecast's error are no longer what they were: the old
    table is made anew too, and must be the one in the problem.
    """
    if not asked:
        return {}
    sets = {row.code: limit_set_of(row) for row in LimitSet.objects.filter(code__in=asked).prefetch_related("limits")}
    weather = {site.pk: _weather(site, forecasts, made_at) for site in base.sites.all()}
    wanted = {key for key in problem.workable if limit_set_in(key) in sets}
    found: dict[str, str] = {}
    for turbine in Turbine.objects.filter(site__base=base).select_related("site", "type"):
        own = weather[turbine.site_id]
        for code, limits in sets.items():
            key = window_key(turbine, own.key(turbine), code)
            if key in wanted and key not in found:
                found[key] = _table(problem, own, turbine, limits, asked[code], key)
    if wanted - set(found):
        raise ConflictError(f"Turbines or their heights changed since this what-if was made ({min(wanted - set(found))}): {ANEW}")
    return found


ANEW = "make a new one."


def _weather(site: Site, forecasts: Mapping[str, int], made_at: datetime) -> SiteWeather:
    forecast = WeatherSet.objects.filter(site=site, pk=forecasts.get(site.code, 0)).first()
    if forecast is None:
        raise ConflictError(f"The forecast of {site} that this what-if stands on is gone: {ANEW}")
    return site_weather(site, forecast, now=made_at)


def _table(
    problem: Problem, weather: SiteWeather, turbine: Turbine, limits: LimitSetRecord, asked: Mapping[str, float], key: str
) -> str:
    columns = _columns(problem)
    span = Span(datetime.fromisoformat(problem.origin), int(columns[-1]) + 1)
    cell = weather.cell(turbine, span)

    def packed(rules: LimitSetRecord) -> str:
        return pack_members(workable(cell.fields, rules, cell.daylight)[:, columns])

    if packed(limits) != problem.workable[key]:
        text = f"The limits of {limits.name}, or how far off forecasts are taken to be, changed since this what-if was made"
        raise ConflictError(f"{text}: {ANEW}")
    changed = tuple(replace(one, value=asked[one.variable], unit="") if one.variable in asked else one for one in limits.limits)
    return packed(replace(limits, limits=changed))


def _columns(problem: Problem) -> NDArray[np.int64]:
    """int64 [total slots]: for each working column its slot counted from the origin."""
    firsts = [day.start_min // SLOT_MIN + np.arange(day.slots) for day in problem.days]
    columns: NDArray[np.int64] = np.concatenate(firsts).astype(np.int64)
    return columns
