"""Weather at a site and hub height on the slots of a horizon, as members."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from planner.errors import PlannerError
from planner.models import Site
from scheduling.access import Field
from scheduling.access.limits import HUB
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.builders.light import daylight_on
from scheduling.energy import dry_density, standard_air
from scheduling.models import WeatherSet
from scheduling.selectors.weather import series_of
from scheduling.weather.height import to_hub
from scheduling.weather.members import DEFAULT_ERROR, Members, members_of
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


def forecast_cell(site: Site, hub_m: float, forecast: WeatherSet, span: Span, *, seed: int, count: int = MEMBERS) -> Cell:
    """The forecast carried to the hub, on slots, with its error as members (seeded).

    Beyond the forecast's end everything is unknown, and so not workable.
    """
    series = series_of(forecast)
    winds = [one for one in series if one.variable == "wind"]
    if not winds:
        raise PlannerError(f"The forecast of {site} has no wind in it: import one with a wind column.")
    hub = to_hub(winds, hub_m, site.shear_exponent)
    leads = _leads(span, forecast.issued_at or forecast.starts_at)
    mean = _on_slots(hub.series, span, "mean")
    peak = _on_slots(hub.series, span, "max")
    members = members_of(peak, leads, count=count, seed=seed, model=DEFAULT_ERROR)
    fields = {"wind": Field(members, HUB, hub.series.averaging_min)}
    gust = next((one for one in series if one.variable == "gust"), None)
    if gust is not None:
        fields["gust"] = Field(_scaled(members, peak, _on_slots(hub.carry(gust), span, "max")), HUB, gust.averaging_min)
    fields |= _plain_fields(series, span)
    energy = _scaled(members, peak, mean, least=0.0)
    return Cell(fields, energy, density_on(series, site, span), daylight_on(site, span), hub.source, len(members))


def _leads(span: Span, issued_at: datetime) -> FloatArray:
    first = (span.start - issued_at) / timedelta(hours=1)
    return np.asarray(first + np.arange(span.slots) * (SLOT_MIN / 60.0), dtype=np.float64)


def _on_slots(series: Series, span: Span, how: str) -> FloatArray:
    return to_slots(series, start=span.start, slot_min=SLOT_MIN, slots=span.slots, how=how, max_step_min=MAX_STEP_MIN).values


def _scaled(members: Members, base: FloatArray, other: FloatArray, least: float = 1.0) -> Members:
    """Members of another wind (gust, slot mean) in the ratio it has to the base in the forecast."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(base > 0.5, np.maximum(other / base, least), 1.0)
    ratio[~np.isfinite(other)] = np.nan
    scaled: Members = members * ratio.astype(np.float32)
    return scaled


def _plain_fields(series: tuple[Series, ...], span: Span) -> dict[str, Field]:
    """Variables without height or error model: one member stands for all."""
    plain = {}
    for one in series:
        if one.variable not in ("wind", "gust") and one.variable not in plain:
            plain[one.variable] = Field(_on_slots(one, span, "max")[None, :], None, one.averaging_min)
    return plain


def density_on(series: tuple[Series, ...], site: Site, span: Span) -> FloatArray:
    """Air density of each slot from temperature and pressure where both are there, else standard air at the site."""
    found = {one.variable: one for one in reversed(series)}
    standard = standard_air(site.altitude_m)[1]
    if "temperature" not in found or "pressure" not in found:
        return np.full(span.slots, standard)
    density = dry_density(_on_slots(found["pressure"], span, "mean"), _on_slots(found["temperature"], span, "mean"))
    return np.where(np.isfinite(density), density, standard)
