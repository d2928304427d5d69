"""The wind climate of past years: how much of each week could have been worked, every year a scenario."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.access.windows import fitting_starts, inside_windows
from scheduling.weather.climate.clock import Ints, has_week_53, iso_weeks, local_clock
from scheduling.weather.climate.tables import WEEKS
from scheduling.weather.series import BoolArray, FloatArray, Series

#: A week with less of its steps known than this says nothing.
MIN_COVER = 0.9


@dataclass(frozen=True, eq=False)
class YearScenarios:
    """Past years as scenarios; every array is float64 [years, 53], column w is ISO week w + 1, NaN where
    unknown.

    workable_h      hours a week that lie in a run long enough for the stay, inside the day window
    workable_days   share (0..1) of the week's days on which at least one stay fits
    lost_mwh_h      mean energy lost per hour of standstill in those hours (over the day window when there are
                    none); NaN without energy. A year without week 53 takes its week 52 there.
    """

    years: tuple[int, ...]
    workable_h: FloatArray
    workable_days: FloatArray
    lost_mwh_h: FloatArray

    def week_days(self) -> FloatArray:
        """float64 [53]: mean share of workable days over the years; NaN where no year knows."""
        return _mean_over_years(self.workable_days)


def year_scenarios(
    series: Series,
    limit_mps: float,
    stay_h: float,
    *,
    day_window: tuple[float, float] = (7.0, 17.0),
    zone: str = "UTC",
    strict: bool = False,
    lost_mwh_h: FloatArray | None = None,
) -> YearScenarios:
    """Past years of a wind series (already at the limit's height) as scenarios of the weeks of a year.

    limit_mps       workable while wind <= limit (< when `strict`); a missing or flagged step is not workable
    stay_h          hours that must fit in one piece into the day window [from, to), local hours of `zone`
    lost_mwh_h      float64 [n] on the series' steps: energy one hour of standstill would lose

    Weeks are ISO weeks of the local date; a week with under 90 % of its steps known is NaN. Raises ValueError
    when the stay is longer than the day window, or no week at all is known.
    """
    ok = series.usable() < limit_mps if strict else series.usable() <= limit_mps
    return scenarios_of(series, ok, stay_h, day_window=day_window, zone=zone, lost_mwh_h=lost_mwh_h)


def scenarios_of(
    series: Series,
    ok: BoolArray,
    stay_h: float,
    *,
    day_window: tuple[float, float] = (7.0, 17.0),
    zone: str = "UTC",
    lost_mwh_h: FloatArray | None = None,
) -> YearScenarios:
    """Like `year_scenarios`, from a truth table bool [n] of any limit set on the steps of `series`."""
    opens, closes = day_window
    if not 0 <= opens < closes <= 24 or not 0 < stay_h <= closes - opens:
        raise ValueError(f"stay_h: a stay of {stay_h:g} h does not fit a day window from {opens:g} to {closes:g} h")
    day, hour = local_clock(series, zone)
    in_day: BoolArray = (hour >= opens) & (hour + series.step_min / 60.0 <= closes + 1e-9)
    steps = max(1, int(np.ceil(stay_h * 60.0 / series.step_min - 1e-9)))
    open_steps: BoolArray = ok & in_day
    first = int(day[0])
    tally = _Tally(first, day - first)
    return _scenarios(series, tally, open_steps, in_day, steps, lost_mwh_h)


class _Tally:
    """Sums of steps by local day."""

    def __init__(self, first_day: int, day: Ints) -> None:
        self.day = day
        self.days = int(day.max()) + 1
        self.year, self.week = iso_weeks(first_day + np.arange(self.days))

    def by_day(self, weights: NDArray[Any]) -> FloatArray:
        sums: FloatArray = np.bincount(self.day, weights=weights.astype(np.float64), minlength=self.days).astype(np.float64)
        return sums

    def by_week(self, daily: FloatArray, years: Sequence[int]) -> FloatArray:
        table = np.zeros((len(years), WEEKS))
        np.add.at(table, (np.searchsorted(years, self.year), self.week - 1), daily)
        return table


def _scenarios(
    series: Series,
    tally: _Tally,
    open_steps: BoolArray,
    in_day: BoolArray,
    steps: int,
    lost: FloatArray | None,
) -> YearScenarios:
    hours = series.step_min / 60.0
    years = [int(year) for year in np.unique(tally.year)]
    known = tally.by_week(tally.by_day(np.isfinite(series.usable())), years) * hours
    starts = fitting_starts(open_steps, steps)
    working = inside_windows(open_steps, steps)
    tables = {
        "h": tally.by_week(tally.by_day(working), years) * hours,
        "days": tally.by_week((tally.by_day(starts) > 0).astype(np.float64), years) / 7.0,
        "lost": _lost(tally, years, working, in_day, lost),
    }
    for table in tables.values():
        table[known < MIN_COVER * 7 * 24] = np.nan
        _fill_last_week(table, years)
    kept: BoolArray = np.asarray(np.isfinite(tables["days"]).any(axis=1))
    if not kept.any():
        raise ValueError("series: no whole week is known in it; give at least one week, better some years")
    names = tuple(year for year, keep in zip(years, kept, strict=True) if keep)
    return YearScenarios(names, tables["h"][kept], tables["days"][kept], tables["lost"][kept])


def _lost(tally: _Tally, years: Sequence[int], working: BoolArray, in_day: BoolArray, lost: FloatArray | None) -> FloatArray:
    if lost is None:
        return np.full((len(years), WEEKS), np.nan)
    per_set = []
    for chosen in (working, in_day):
        counted = chosen & np.isfinite(lost)
        total = tally.by_week(tally.by_day(np.where(counted, lost, 0.0)), years)
        count = tally.by_week(tally.by_day(counted), years)
        per_set.append(np.divide(total, count, out=np.full_like(total, np.nan), where=count > 0))
    return np.where(np.isfinite(per_set[0]), per_set[0], per_set[1])


def _fill_last_week(table: FloatArray, years: Sequence[int]) -> None:
    for row, year in enumerate(years):
        if not has_week_53(year):
            table[row, WEEKS - 1] = table[row, WEEKS - 2]


def _mean_over_years(table: FloatArray) -> FloatArray:
    known = np.isfinite(table)
    count = known.sum(axis=0)
    total = np.where(known, table, 0.0).sum(axis=0)
    mean: FloatArray = np.divide(total, count, out=np.full(table.shape[1], np.nan), where=count > 0)
    return mean
