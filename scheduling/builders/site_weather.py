"""A site's forecast made ready once: series unpacked, the error model in use, what turbines have learnt of their own wind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import numpy as np

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Site, Turbine
from scheduling.access import Field
from scheduling.access.limits import HUB
from scheduling.builders.cells import MEMBERS, Cell, cut, density_on, on_slots, plain_fields, scaled
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.builders.light import daylight_on
from scheduling.models import WeatherSet
from scheduling.selectors.forecast_error import ErrorInUse, error_model_of
from scheduling.selectors.turbine_wind import turbine_fits
from scheduling.selectors.weather import series_of
from scheduling.weather.ensemble import by_member
from scheduling.weather.error import Members, calibrated, members_of
from scheduling.weather.height import HubWind, to_hub
from scheduling.weather.series import FloatArray, Series
from scheduling.weather.turbine_wind import NO_CORRECTION, TurbineFit, corrected

SLOT = timedelta(minutes=SLOT_MIN)


@dataclass(frozen=True, eq=False)
class SiteWeather:
    """One forecast of a site. `fits`: turbine id -> how its own wind differs from the site's."""

    site: Site
    forecast: WeatherSet
    series: tuple[Series, ...]
    error: ErrorInUse
    fits: Mapping[int, TurbineFit]
    _drawn: dict[tuple[float, TurbineFit, datetime], Cell] = field(default_factory=dict, repr=False)

    def key(self, turbine: Turbine) -> str:
        """Turbines with the same key have the same weather."""
        return f"{hub_key(turbine)} {turbine.code}" if turbine.pk in self.fits else hub_key(turbine)

    def cell(self, turbine: Turbine, span: Span) -> Cell:
        """The weather at a turbine's hub, its own wind where it has learnt it."""
        return self.cell_at(turbine.hub_height_m, span, self.fits.get(turbine.pk, NO_CORRECTION))

    def cell_at(self, hub_m: float, span: Span, fit: TurbineFit = NO_CORRECTION) -> Cell:
        """The forecast carried to a height, on slots, with its error as members.

        One forecast has one set of members: they are drawn once for all of it, seeded by its content, so that the plan, the
        morning and every page see the same chance of the same stay. Outside the forecast everything is unknown, and so not
        workable.
        """
        whole = self._whole(span)
        key = (hub_m, fit, whole.start)
        if key not in self._drawn:
            self._drawn[key] = self._draw(hub_m, whole, fit)
        return cut(self._drawn[key], int((span.start - whole.start) / SLOT), span.slots, daylight_on(self.site, span))

    def _whole(self, span: Span) -> Span:
        """All of the forecast, on slots that begin when those of the span do."""
        start, end = min(one.start for one in self._winds()), max(one.end for one in self._winds())
        origin = span.start - -((start - span.start) // SLOT) * SLOT
        return Span(origin, max(1, -int((origin - end) // SLOT)))

    def _draw(self, hub_m: float, span: Span, fit: TurbineFit) -> Cell:
        hubs = self._hubs(hub_m)
        peak, mean = (corrected(np.stack([on_slots(one.series, span, how) for one in hubs]), fit) for how in ("max", "mean"))
        members, middle = self._members(peak, self._leads(span)), peak.mean(axis=0)
        wind = Field(members, HUB, hubs[0].series.averaging_min, SLOT_MIN, hub_m=hub_m, shear=_least_shear(hubs, span))
        fields = {"wind": wind}
        gust = self._gust(hubs, span)
        if gust is not None:
            drawn = scaled(members, middle, corrected(gust, fit))
            fields["gust"] = replace(wind, values=drawn, averaging_min=self._first("gust").averaging_min)
        fields |= plain_fields(self.series, span)
        energy = scaled(members, middle, mean.mean(axis=0), least=0.0)
        light = daylight_on(self.site, span)
        return Cell(fields, energy, density_on(self.series, self.site, span, hub_m), light, hubs[0].source, len(members))

    def _members(self, peak: FloatArray, lead_h: FloatArray) -> Members:
        """MEMBERS of them, from the raw members [m, slots] of an ensemble or from one line."""
        seed = int(self.forecast.digest[:8], 16)
        if len(peak) > 1:
            return calibrated(peak, lead_h, seed=seed, count=MEMBERS, model=self.error.ensemble)
        return members_of(peak[0], lead_h, count=MEMBERS, seed=seed, model=self.error.model)

    def _winds(self) -> list[Series]:
        winds = [one for one in self.series if one.variable == "wind"]
        if not winds:
            raise PlannerError(f"The forecast of {self.site} has no wind in it: import one with a wind column.")
        return winds

    def _hubs(self, hub_m: float) -> list[HubWind]:
        """The wind of each member at the hub; one for a single forecast."""
        return [to_hub(winds, hub_m, self.site.shear_exponent) for winds in by_member(self._winds()).values()]

    def _gust(self, hubs: list[HubWind], span: Span) -> FloatArray | None:
        """The gust at the hub, the mean of the members' gusts; None where the forecast has none, or not for every member."""
        gusts = {one.member: one for one in reversed(self.series) if one.variable == "gust"}
        if not gusts or len(gusts) != len(hubs):
            return None
        carried = [hub.carry(gusts[member]) for hub, member in zip(hubs, sorted(gusts), strict=True)]
        mean: FloatArray = np.stack([on_slots(one, span, "max") for one in carried]).mean(axis=0)
        return mean

    def _first(self, variable: str) -> Series:
        return next(one for one in self.series if one.variable == variable)

    def _leads(self, span: Span) -> FloatArray:
        issued_at = self.forecast.issued_at or self.forecast.starts_at
        first = (span.start - issued_at) / timedelta(hours=1)
        return np.asarray(first + np.arange(span.slots) * (SLOT_MIN / 60.0), dtype=np.float64)


def _least_shear(hubs: list[HubWind], span: Span) -> FloatArray:
    """float64 [slots]: the exponents that carried the wind up, of several the least: carried down by it, least is taken off."""
    steps = np.stack([on_slots(hub.series.with_values(hub.exponent), span, "min") for hub in hubs])
    least: FloatArray = steps.min(axis=0)
    return least


def hub_key(turbine: Turbine) -> str:
    """Turbines of a site with the same hub height share their weather, where none has learnt its own."""
    return f"{turbine.hub_height_m:g} m"


def site_weather(site: Site, forecast: WeatherSet, *, now: datetime | None = None) -> SiteWeather:
    """The forecast of a site with all that belongs to it: two queries and one unpacking, however many hub heights follow."""
    return SiteWeather(site, forecast, series_of(forecast), error_model_of(site, now or now_utc()), turbine_fits(site=site))
