"""What standstill loses, on the columns and nights of a fortnight."""

from __future__ import annotations

from datetime import date

import numpy as np

from planner.choices import ClosureKind
from planner.models import Closure, Site, Turbine, TurbineType
from scheduling.builders.cells import Cell
from scheduling.builders.horizon import SLOT_MIN, Horizon
from scheduling.energy import PowerCurve, lost_mwh_per_hour, prices
from scheduling.weather.series import FloatArray


def curve_of(kind: TurbineType) -> PowerCurve:
    """The type's power curve, stepping to 0 at cut-out."""
    pairs = [(float(speed), float(power)) for speed, power in kind.power_curve if speed <= kind.cut_out_mps]
    if pairs[-1][0] < kind.cut_out_mps:
        pairs.append((kind.cut_out_mps, pairs[-1][1]))
    return PowerCurve(tuple(p[0] for p in pairs), tuple(p[1] for p in pairs))


def lost_on_slots(cell: Cell, kind: TurbineType) -> FloatArray:
    """float64 [slots]: expected MWh per slot of standstill. Unknown slots take the mean of the known ones (no work can be
    there; only nights and the horizon's end ask for it)."""
    per_slot = lost_mwh_per_hour(cell.energy_mps, curve_of(kind), density_kg_m3=cell.density).mean(axis=0) * SLOT_MIN / 60.0
    known = np.isfinite(per_slot)
    return np.where(known, per_slot, per_slot[known].mean() if known.any() else 0.0)


def grid_outage_days(turbine: Turbine, closures: list[Closure], horizon: Horizon) -> set[int]:
    """Days on which the turbine cannot feed in anyway, so that standing still is free."""
    outages = [c for c in closures if c.kind == ClosureKind.GRID and closure_covers(c, turbine)]
    return {day for day in range(horizon.days) if any(_within(horizon.date_of(day), c) for c in outages)}


def closure_covers(closure: Closure, turbine: Turbine) -> bool:
    """Whether a closure is about this turbine: itself, its road, or its whole site."""
    if closure.turbine_id:
        return closure.turbine_id == turbine.pk
    if closure.road:
        return closure.site_id == turbine.site_id and closure.road == turbine.road
    return closure.site_id == turbine.site_id


def _within(day: date, closure: Closure) -> bool:
    return closure.first_day <= day <= closure.last_day


def tables(lost: FloatArray, horizon: Horizon, free_days: set[int]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """(MWh per working column, MWh per night), 0 on the days when standstill is free."""
    columns = lost[horizon.columns()].reshape(horizon.days, horizon.slots_a_day).copy()
    nights = [float(lost[slice(*horizon.night(day))].sum()) for day in range(horizon.days)]
    for day in free_days:
        columns[day] = 0.0
        nights[day] = 0.0
    return tuple(round(float(x), 6) for x in columns.ravel()), tuple(round(x, 6) for x in nights)


def price_tables(site: Site, horizon: Horizon) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """(cents per MWh of each working column, mean cents per MWh of each night)."""
    hours = horizon.local_hours()
    cents = prices(site.price_by_hour or site.price_per_mwh, hours) * 100.0
    nights = [cents[slice(*horizon.night(day))] for day in range(horizon.days)]
    flat = float(cents.mean())
    return (
        tuple(round(float(x)) for x in cents[horizon.columns()]),
        tuple(round(float(night.mean()) if len(night) else flat) for night in nights),
    )
