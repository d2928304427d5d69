"""One reading to what a plan asks of it: members at hub height on its slots, for limits and for energy."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from scheduling.access.judge import Field
from scheduling.energy import dry_density, moist_density
from scheduling.weather.height import HubWind, to_hub
from scheduling.weather.members import DEFAULT_ERROR, ErrorModel, Members, members_of
from scheduling.weather.readers.report import Reading
from scheduling.weather.series import FloatArray, Series, preferred
from scheduling.weather.slots import to_slots

#: Air density where nothing tells it, kg/m3 (standard atmosphere at sea level).
STANDARD_DENSITY = 1.225


@dataclass(frozen=True)
class Horizon:
    """The slots of a plan: `slots` of `slot_min` minutes from `start`, and when the forecast was issued (UTC)."""

    start: datetime
    slot_min: int
    slots: int
    issued: datetime

    def lead_h(self) -> FloatArray:
        """float64 [t]: hours from the issue to each slot's start."""
        first = (self.start - self.issued).total_seconds() / 3600.0
        return first + np.arange(self.slots) * self.slot_min / 60.0


@dataclass(frozen=True, eq=False)
class HubForecast:
    """Weather at one hub height on the slots of a plan.

    fields          variable -> Field for `access.workable`; wind and gust [members, slots], the rest [1, slots]
    energy_mps      float32 [members, slots]: mean wind of each slot, for `energy.lost_mwh_per_hour`
    density_kg_m3   float64 [slots]; standard air where temperature or pressure is unknown
    hub             how the wind got to the hub, on the steps of the file
    """

    fields: dict[str, Field]
    energy_mps: Members
    density_kg_m3: FloatArray
    hub: HubWind


def hub_forecast(
    reading: Reading,
    hub_m: float,
    horizon: Horizon,
    *,
    count: int,
    seed: int,
    model: ErrorModel = DEFAULT_ERROR,
    site_exponent: float | None = None,
) -> HubForecast:
    """Carry a reading's wind to the hub, lay it on the horizon's slots and spread it into `count` members.

    A slot takes the largest mean wind inside it for limits and their mean for energy; both carry the same errors. A gust
    takes the mean wind's error times gust over mean (1 to 2). Same seed, same members. Raises ValueError without wind.
    """
    hub = to_hub(reading.series, hub_m, site_exponent)
    lead = horizon.lead_h()
    highest, mean = (_on(horizon, hub.series, how) for how in ("max", "mean"))
    winds = members_of(highest, lead, count=count, seed=seed, model=model)
    fields = {"wind": Field(winds, "hub", hub.series.averaging_min)}
    for variable in dict.fromkeys(one.variable for one in reading.series if one.variable != "wind"):
        best = _best(reading, variable, hub_m)
        if variable == "gust":
            gust = _on(horizon, hub.carry(best), "max")
            fields["gust"] = Field(_gust_members(gust, highest, winds), "hub", best.averaging_min)
        else:
            values = _on(horizon, best, "max")[None, :]
            fields[variable] = Field(values, best.height_m, best.averaging_min)
    energy = members_of(mean, lead, count=count, seed=seed, model=model)
    return HubForecast(fields, energy, _density(reading, horizon, hub_m), hub)


def _best(reading: Reading, variable: str, hub_m: float) -> Series:
    of_kind = reading.of(variable)
    nearest = min(of_kind, key=lambda one: abs(one.height_m - hub_m))
    alike = [one for one in of_kind if (one.height_m, one.averaging_min) == (nearest.height_m, nearest.averaging_min)]
    return preferred(alike)


def _on(horizon: Horizon, series: Series, how: str) -> FloatArray:
    slotted = to_slots(series, start=horizon.start, slot_min=horizon.slot_min, slots=horizon.slots, how=how)
    return slotted.usable()


def _gust_members(gust: FloatArray, wind: FloatArray, winds: Members) -> Members:
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.clip(np.divide(gust, wind), 1.0, 2.0)
    drawn: Members = (gust + (winds - wind) * ratio).astype(np.float32)
    return np.maximum(drawn, winds)


def _density(reading: Reading, horizon: Horizon, hub_m: float) -> FloatArray:
    kinds = {one.variable for one in reading.series}
    if not {"temperature", "pressure"} <= kinds:
        return np.full(horizon.slots, STANDARD_DENSITY)
    pressure, temperature = (_on(horizon, _best(reading, kind, hub_m), "mean") for kind in ("pressure", "temperature"))
    dry = dry_density(pressure, temperature)
    if "humidity" in kinds:
        moist = moist_density(pressure, temperature, _on(horizon, _best(reading, "humidity", hub_m), "mean"))
        dry = np.where(np.isfinite(moist), moist, dry)
    return np.where(np.isfinite(dry), dry, STANDARD_DENSITY)
