"""Weather at a site and hub height on the slots of a horizon, as members."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planner.models import Site
from scheduling.access import Field
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.energy import dry_density, moist_density, standard_air
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


def density_on(series: tuple[Series, ...], site: Site, span: Span) -> FloatArray:
    """Air density of each slot from temperature and pressure (and humidity) where known, else standard air."""
    found = {one.variable: one for one in reversed(series)}
    standard = standard_air(site.altitude_m)[1]
    if "temperature" not in found or "pressure" not in found:
        return np.full(span.slots, standard)
    pressure, temperature = (on_slots(found[name], span, "mean") for name in ("pressure", "temperature"))
    density = dry_density(pressure, temperature)
    if "humidity" in found:
        moist = moist_density(pressure, temperature, on_slots(found["humidity"], span, "mean"))
        density = np.where(np.isfinite(moist), moist, density)
    return np.where(np.isfinite(density), density, standard)
