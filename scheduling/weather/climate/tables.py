"""Counts by year and week or month, and what the years say together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scheduling.weather.climate.clock import Ints
from scheduling.weather.climate.past import Past
from scheduling.weather.series import BoolArray, FloatArray

WEEKS, MONTHS = 53, 12
#: A week or month of which more than this share of the hours that count is unknown has no figure.
MOST_UNKNOWN = 0.1
#: Quantiles over fewer years than this would pretend to know. Common practice, no source.
LEAST_YEARS = 3


@dataclass(frozen=True, eq=False)
class Table:
    """One figure by year (rows) and week or month (columns), NaN where there is none.

    left_out    bool like `values`: the record is there, but too much of it is unknown
    """

    years: tuple[int, ...]
    values: FloatArray
    left_out: BoolArray

    def over_years(self) -> list[OverYears]:
        """What the years say about each column."""
        return [over_years(self.values[:, column]) for column in range(self.values.shape[1])]


@dataclass(frozen=True)
class OverYears:
    """One figure over the years that know it. The quantiles are None with fewer than LEAST_YEARS years."""

    years: int
    mean: float | None
    least: float | None
    most: float | None
    p10: float | None
    p50: float | None
    p90: float | None


def over_years(values: FloatArray) -> OverYears:
    """Mean, range and quantiles of float64 [years] (NaN: unknown).

    Quantiles lie on straight lines between the ordered values (type 7 of Hyndman and Fan, 1996; NumPy's default).
    """
    known = values[np.isfinite(values)]
    if not len(known):
        return OverYears(0, None, None, None, None, None, None)
    plain = (float(known.mean()), float(known.min()), float(known.max()))
    if len(known) < LEAST_YEARS:
        return OverYears(len(known), *plain, None, None, None)
    low, middle, high = (float(value) for value in np.quantile(known, [0.1, 0.5, 0.9]))
    return OverYears(len(known), *plain, low, middle, high)


class _Sums:
    """Sums of steps by year and column."""

    def __init__(self, years: Ints, columns: Ints, width: int) -> None:
        self.first, self.width = int(years[0]), width
        self.rows = int(years[-1]) - self.first + 1
        self.cell = (years - self.first) * width + columns - 1

    def __call__(self, weights: FloatArray | BoolArray) -> FloatArray:
        flat = np.bincount(self.cell, weights=weights.astype(np.float64), minlength=self.rows * self.width)
        return flat.astype(np.float64).reshape(self.rows, self.width)

    def quantile(self, values: FloatArray, share: float) -> FloatArray:
        """float64 [rows, width]: the quantile of the known values of each cell (NaN: none known)."""
        use = np.isfinite(values)
        cells, values = self.cell[use], values[use]
        order = np.lexsort((values, cells))
        cells, values = cells[order], values[order]
        edges = np.searchsorted(cells, np.arange(self.rows * self.width + 1))
        found = [np.quantile(values[a:b], share) if b > a else np.nan for a, b in pairwise(edges)]
        return np.array(found, dtype=np.float64).reshape(self.rows, self.width)

    def table(self, values: FloatArray, known: BoolArray) -> Table:
        """The figures of the cells that are known, for the years that know any."""
        there = self(np.ones(len(self.cell))) > 0
        shown = known & there
        kept: BoolArray = np.any(shown, axis=1)
        years = tuple(int(year) for year in self.first + np.flatnonzero(kept))
        return Table(years, np.where(shown, values, np.nan)[kept], (there & ~shown)[kept])


def week_tables(past: Past, lost_mwh_h: FloatArray | None = None) -> dict[str, Table]:
    """By ISO year and week 1..53: "workable_h", "workable_days", "counted_h", "wait_h", and with energy "lost_mwh_h" and
    "lost_any_mwh_h".

    workable_h      hours in runs long enough for the stay, inside the hours that count
    workable_days   share of the week's seven days on which a stay fits
    counted_h       hours that count
    wait_h          mean wait from the steps of the week to the next start
    lost_mwh_h      MWh lost per hour of standstill, mean over the workable hours; NaN where there are none
    lost_any_mwh_h  the same over all known hours of the week

    The first and last week of the grid must be padded with unknown steps where the record does not fill them. A year
    without week 53 has NaN there. Weeks with more than MOST_UNKNOWN unknown are left out.
    """
    sums = _Sums(*past.iso, WEEKS)
    known = _coverage(past, sums)
    tables = {
        "workable_h": sums(past.workable) * past.step_h,
        "workable_days": sums(past.fitting_days) / 7.0,
        "counted_h": sums(past.counts) * past.step_h,
    }
    made = {name: sums.table(values, known) for name, values in tables.items()}
    made["wait_h"] = _waits(past, sums)
    if lost_mwh_h is not None:
        made["lost_mwh_h"] = sums.table(_mean(sums, lost_mwh_h, past.workable), known)
        made["lost_any_mwh_h"] = sums.table(_mean(sums, lost_mwh_h, np.ones_like(past.good)), known)
    return made


def month_tables(past: Past) -> dict[str, Table]:
    """By year and month: "wait_h", "wait_p90_h", "wait_always_good_h" and "fits".

    wait_h              mean wait from the steps of the month to the next start
    wait_p90_h          nine of ten steps of the month wait no longer
    wait_always_good_h  the mean wait if every limit always held: what nights and darkness alone cost
    fits                share of days on which a stay fits
    """
    sums = _Sums(*past.months, MONTHS)
    enough = _waits_known(past, sums)
    known = _coverage(past, sums)
    days = sums(past.first_of_day)
    share = np.divide(sums(past.fitting_days), days, out=np.full_like(days, np.nan), where=days > 0)
    calm = _mean(sums, past.wait_always_good_h, np.isfinite(past.wait_h))
    return {
        "wait_h": _waits(past, sums),
        "wait_p90_h": sums.table(sums.quantile(past.wait_h, 0.9), enough),
        "wait_always_good_h": sums.table(calm, np.isfinite(calm)),
        "fits": sums.table(share, known),
    }


def _waits(past: Past, sums: _Sums) -> Table:
    return sums.table(_mean(sums, past.wait_h, np.isfinite(past.wait_h)), _waits_known(past, sums))


def _waits_known(past: Past, sums: _Sums) -> BoolArray:
    enough: BoolArray = sums(~np.isfinite(past.wait_h)) <= MOST_UNKNOWN * sums(np.ones(len(past.good)))
    return enough


def _coverage(past: Past, sums: _Sums) -> BoolArray:
    """Whether enough is known in each cell. Where no hour counts (polar night), all hours are looked at."""
    counted, blank = sums(past.counts), sums(past.counts & past.unknown)
    steps, all_blank = sums(np.ones(len(past.good))), sums(past.unknown)
    enough: BoolArray = np.where(counted > 0, blank <= MOST_UNKNOWN * counted, all_blank <= MOST_UNKNOWN * steps).astype(bool)
    return enough


def _mean(sums: _Sums, values: FloatArray, chosen: BoolArray) -> FloatArray:
    use = chosen & np.isfinite(values)
    total, count = sums(np.where(use, values, 0.0)), sums(use)
    mean: FloatArray = np.divide(total, count, out=np.full_like(total, np.nan), where=count > 0)
    return mean


def joined(tables: Sequence[Table]) -> Table:
    """Several records of one figure as one: each cell is the first record's that knows it; never a mixture inside a cell."""
    years = tuple(sorted({year for table in tables for year in table.years}))
    width = tables[0].values.shape[1]
    values = np.full((len(years), width), np.nan)
    left_out = np.zeros(values.shape, dtype=bool)
    for table in tables:
        rows = [years.index(year) for year in table.years]
        for row, own, gone in zip(rows, table.values, table.left_out, strict=True):
            fill = np.isnan(values[row])
            values[row, fill] = own[fill]
            left_out[row] |= gone
    return Table(years, values, left_out & np.isnan(values))
