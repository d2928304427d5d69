"""A site's forecast made ready once: series unpacked, the error model in use, what turbines have learnt of their own wind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Site, Turbine
from scheduling.access import Field
from scheduling.access.limits import HUB
from scheduling.builders.cells import MEMBERS, Cell, density_on, on_slots, plain_fields, scaled
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.builders.light import daylight_on
from scheduling.models import WeatherSet
from scheduling.selectors.forecast_error import ErrorInUse, error_model_of
from scheduling.selectors.turbine_wind import turbine_fits
from scheduling.selectors.weather import series_of
from scheduling.weather.error import calibrated, members_of
from scheduling.weather.height import HubWind, to_hub
from scheduling.weather.series import FloatArray, Series
from scheduling.weather.turbine_wind import NO_CORRECTION, TurbineFit, corrected


@dataclass(frozen=True, eq=False)
class SiteWeather:
    """One forecast of a site. `fits`: turbine id -> how its own wind differs from the site's."""

    site: Site
    forecast: WeatherSet
    series: tuple[Series, ...]
    error: ErrorInUse
    fits: Mapping[int, TurbineFit]

    def key(self, turbine: Turbine) -> str:
        """Turbines with the same key have the same weather."""
        return f"{hub_key(turbine)} {turbine.code}" if turbine.pk in self.fits else hub_key(turbine)

    def cell(self, turbine: Turbine, span: Span, *, seed: int, count: int = MEMBERS) -> Cell:
        """The weather at a turbine's hub, its own wind where it has learnt it."""
        return self.cell_at(turbine.hub_height_m, span, seed=seed, count=count, fit=self.fits.get(turbine.pk, NO_CORRECTION))

    def cell_at(self, hub_m: float, span: Span, *, seed: int, count: int = MEMBERS, fit: TurbineFit = NO_CORRECTION) -> Cell:
        """The forecast carried to a height, on slots, with its error as members (seeded).

        Beyond the forecast's end everything is unknown, and so not workable.
        """
        hubs = self._hubs(hub_m)
        peak, mean = (np.stack([on_slots(one.series, span, how) for one in hubs]) for how in ("max", "mean"))
        peak, mean = corrected(peak, fit), corrected(mean, fit)
        leads = self._leads(span)
        if len(hubs) > 1:
            members = calibrated(peak, leads, seed=seed, count=count, model=self.error.ensemble)
        else:
            members = members_of(peak[0], leads, count=count, seed=seed, model=self.error.model)
        middle = peak.mean(axis=0)
        fields = {"wind": Field(members, HUB, hubs[0].series.averaging_min, SLOT_MIN)}
        gust = self._gust(hubs, span)
        if gust is not None:
            fields["gust"] = Field(
                scaled(members, middle, corrected(gust, fit)), HUB, self._first("gust").averaging_min, SLOT_MIN
            )
        fields |= plain_fields(self.series, span)
        energy = scaled(members, middle, mean.mean(axis=0), least=0.0)
        density = density_on(self.series, self.site, span)
        return Cell(fields, energy, density, daylight_on(self.site, span), hubs[0].source, len(members))

    def _hubs(self, hub_m: float) -> list[HubWind]:
        """The wind of each member at the hub; one for a single forecast."""
        winds: dict[int, list[Series]] = {}
        for one in self.series:
            if one.variable == "wind":
                winds.setdefault(one.member, []).append(one)
        if not winds:
            raise PlannerError(f"The forecast of {self.site} has no wind in it: import one with a wind column.")
        return [to_hub(winds[member], hub_m, self.site.shear_exponent) for member in sorted(winds)]

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


def hub_key(turbine: Turbine) -> str:
    """Turbines of a site with the same hub height share their weather, where none has learnt its own."""
    return f"{turbine.hub_height_m:g} m"


def site_weather(site: Site, forecast: WeatherSet, *, now: datetime | None = None) -> SiteWeather:
    """The forecast of a site with all that belongs to it: two queries and one unpacking, however many hub heights follow."""
    return SiteWeather(site, forecast, series_of(forecast), error_model_of(site, now or now_utc()), turbine_fits(site=site))
