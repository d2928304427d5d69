"""Weather at a site and hub height on the slots of a horizon, as members."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from planner.models import Site
from scheduling.access import Field
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.energy import air_density
from scheduling.weather.error import Members
from scheduling.weather.series import BoolArray, FloatArray, Series
from scheduling.weather.slots import to_slots

MEMBERS = 20
MAX_STEP_MIN = 60


@dataclass(frozen=True, eq=False)
class Cell:
    """Members at one hub height. `fields` are what limits are held against; `energy_mps` float [members, slots] is the mean
    wind of each slot; `density` float [slots] kg/m3; `daylight` bool [slots]; `shear` says how the wind came to the hub."""

    fields: Mapping[str, Field]
    energy_mps: Members
    density: FloatArray
    daylight: BoolArray
    shear: str
    members: int


def cut(cell: Cell, first: int, slots: int, daylight: BoolArray) -> Cell:
    """The slots [first, first + slots) of a cell, both of which may lie outside it: there weather is unknown and air usual."""
    fields = {name: _cut_field(one, first, slots) for name, one in cell.fields.items()}
    density = np.nan_to_num(_cut(cell.density, first, slots), nan=float(cell.density.mean()))
    return replace(cell, fields=fields, energy_mps=_cut(cell.energy_mps, first, slots), density=density, daylight=daylight)


def _cut_field(one: Field, first: int, slots: int) -> Field:
    parts = {name: getattr(one, name) for name in ("values", "low", "shear")}
    return replace(one, **{name: _cut(part, first, slots) for name, part in parts.items() if isinstance(part, np.ndarray)})


def _cut(values: Any, first: int, slots: int) -> Any:
    """The last axis from `first` on, NaN outside."""
    out = np.full((*values.shape[:-1], slots), np.nan, dtype=values.dtype)
    low, high = max(0, first), min(values.shape[-1], first + slots)
    if low < high:
        out[..., low - first : high - first] = values[..., low:high]
    return out


def on_slots(series: Series, span: Span, how: str) -> FloatArray:
    """float64 [slots]: the worst ("max", "min") or mean value of each slot; NaN where anything of it is unknown."""
    return to_slots(series, start=span.start, slot_min=SLOT_MIN, slots=span.slots, how=how, max_step_min=MAX_STEP_MIN).values


def scaled(members: Members, base: FloatArray, other: FloatArray, least: float = 1.0) -> Members:
    """Members of another wind (gust, slot mean) in the ratio it has to the base in the forecast."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(base > 0.5, np.maximum(other / base, least), 1.0)
    ratio[~np.isfinite(other)] = np.nan
    result: Members = members * ratio.astype(np.float32)
    return result


def plain_fields(series: tuple[Series, ...], span: Span) -> dict[str, Field]:
    """Variables without an error model, the lowest and the highest of each slot."""
    found: dict[str, dict[int, Series]] = {}
    for one in series:
        if one.variable not in ("wind", "gust"):
            found.setdefault(one.variable, {}).setdefault(one.member, one)
    return {name: _plain(list(own.values()), span) for name, own in found.items()}


def _plain(own: list[Series], span: Span) -> Field:
    """Of several members the worst: they are too few, and not those of the wind, to pair them."""
    high = np.stack([on_slots(one, span, "max") for one in own]).max(axis=0)
    low = np.stack([on_slots(one, span, "min") for one in own]).min(axis=0)
    return Field(high[None, :], None, own[0].averaging_min, SLOT_MIN, low[None, :])


def density_on(series: tuple[Series, ...], site: Site, span: Span, hub_m: float) -> FloatArray:
    """float64 [slots]: air density at the hub from temperature, pressure and humidity where known, else standard air."""
    return density_of(series, site, hub_m, lambda one: on_slots(one, span, "mean"), (span.slots,))


def density_of(
    series: tuple[Series, ...], site: Site, hub_m: float, values: Callable[[Series], FloatArray], shape: tuple[int, ...]
) -> FloatArray:
    """float64 of `shape`: air density at the hub; `values` reads the steps of a series."""
    found = {one.variable: one for one in reversed(series)}
    barometer = found.get("pressure")
    known = {name: values(found[name]) if name in found else None for name in ("pressure", "temperature", "humidity")}
    up_m = hub_m - (barometer.height_m if barometer else 0.0)
    density = air_density(site.altitude_m, known["pressure"], known["temperature"], known["humidity"], up_m=up_m)
    return np.broadcast_to(density, shape)
