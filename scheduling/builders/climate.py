"""Past years at a site and hub height, week by week, for limit sets and turbine types."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.models import LimitSet as LimitSetRow
from planner.models import Site, Turbine, TurbineType
from scheduling.access import workable
from scheduling.builders.cells import density_of
from scheduling.builders.energy import curve_of
from scheduling.builders.limits import limit_set_of
from scheduling.builders.past import Stretch
from scheduling.energy import lost_mwh_per_hour
from scheduling.models import WeatherSet
from scheduling.selectors.weather import past_years, series_of
from scheduling.weather.climate import WEEKS, YearScenarios, scenarios_of
from scheduling.weather.series import FloatArray, Series

STAY_H = 4.0
"""A week's workable hours are those in runs long enough for half a working day. Common practice, no source."""
DAY_WINDOW = (7.0, 17.0)
LEAST_WEEKS = 47
"""A year with fewer known weeks than this is no scenario of its own."""


@dataclass(frozen=True, eq=False)
class Years:
    """Names of the scenario years and tables [years, 53] of `workable_share` and `lost_mwh_h`, without holes."""

    names: tuple[str, ...]
    workable_share: FloatArray
    lost_mwh_h: FloatArray


class Climate:
    """The past weather of one site, unpacked once; `years` asks it for a hub height, limit set and turbine type."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.past = [_Past(site, row) for row in past_years(site=site)]

    def years(self, turbine: Turbine, limit_set: LimitSetRow) -> Years:
        """The past years as scenarios. Weeks that no year knows take the mean of all weeks; no past weather gives no years."""
        found = [one.scenarios(turbine, limit_set) for one in self.past]
        labels = [one.label for one in self.past]
        return _joined(found, labels) if found else Years((), np.empty((0, WEEKS)), np.empty((0, WEEKS)))


class _Past:
    """One stored set of past weather with what is worked out from it more than once."""

    def __init__(self, site: Site, row: WeatherSet) -> None:
        self.site = site
        self.stretch = Stretch(site, series_of(row))
        self.label = "made {}" if row.about["report"].get("resampled") else "{}"
        self.lost: dict[tuple[float, int], FloatArray] = {}

    def scenarios(self, turbine: Turbine, limit_set: LimitSetRow) -> YearScenarios:
        core = limit_set_of(limit_set)
        light = self.stretch.daylight if core.daylight else None
        good = workable(self.stretch.fields(turbine.hub_height_m), core, light)[0]
        wind = self.stretch.hub(turbine.hub_height_m).series
        lost = self.lost_per_hour(wind, turbine.type)
        return scenarios_of(wind, good, STAY_H, day_window=DAY_WINDOW, zone=self.site.time_zone, lost_mwh_h=lost)

    def lost_per_hour(self, wind: Series, kind: TurbineType) -> FloatArray:
        key = (wind.height_m, kind.pk)
        if key not in self.lost:
            self.lost[key] = lost_per_hour(self.stretch.series, wind, self.site, kind)
        return self.lost[key]


def lost_per_hour(series: tuple[Series, ...], wind: Series, site: Site, kind: TurbineType) -> FloatArray:
    """float64 [n]: MWh lost per hour of standstill at each step of the past series."""
    density = density_of(series, site, wind.height_m, Series.usable, wind.values.shape)
    return lost_mwh_per_hour(wind.usable()[None, :], curve_of(kind), density_kg_m3=density)[0]


def _joined(found: list[YearScenarios], labels: list[str]) -> Years:
    """Whole years as scenarios; where there is none, one composite year of all that is known."""
    hours = (DAY_WINDOW[1] - DAY_WINDOW[0]) * 7.0
    by_year: dict[str, list[tuple[FloatArray, FloatArray]]] = {}
    for one, label in zip(found, labels, strict=True):
        for n, year in enumerate(one.years):
            by_year.setdefault(label.format(year), []).append((one.workable_h[n] / hours, one.lost_mwh_h[n]))
    years = {year: tuple(_mean([row[i] for row in rows]) for i in (0, 1)) for year, rows in sorted(by_year.items())}
    whole = {name: tables for name, tables in years.items() if np.isfinite(tables[0]).sum() >= LEAST_WEEKS}
    if not whole:
        whole = {"+".join(years): tuple(_mean([tables[i] for tables in years.values()]) for i in (0, 1))}
    shares = _filled(np.array([tables[0] for tables in whole.values()]))
    return Years(tuple(whole), np.clip(shares, 0.0, 1.0), _filled(np.array([tables[1] for tables in whole.values()])))


def _mean(rows: list[FloatArray]) -> FloatArray:
    table = np.array(rows)
    known = np.isfinite(table)
    total = np.where(known, table, 0.0).sum(axis=0)
    count = known.sum(axis=0)
    return np.divide(total, count, out=np.full(table.shape[1], np.nan), where=count > 0)


def _filled(table: FloatArray) -> FloatArray:
    """Holes take the mean of their week over the years, or of all weeks where no year knows the week."""
    column = _mean(list(table))
    known = column[np.isfinite(column)]
    column = np.where(np.isfinite(column), column, known.mean() if len(known) else 0.0)
    return np.where(np.isfinite(table), table, column[None, :])
