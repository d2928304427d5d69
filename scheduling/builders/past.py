"""The past weather of a site as stretches on one grid each, judged against a limit set at a hub height."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

import numpy as np

from planner.models import Base, Site
from scheduling.access import Field, LimitSet
from scheduling.access.limits import HUB
from scheduling.builders.horizon import SLOT_MIN, Span, horizon_of
from scheduling.builders.light import daylight_on
from scheduling.models import WeatherSet
from scheduling.selectors.weather import series_of
from scheduling.weather.climate import Past, in_working_day, judged, stay_steps
from scheduling.weather.height import HubWind, to_hub
from scheduling.weather.series import BoolArray, Flag, Series

#: Past weather coarser than this says nothing about an hour.
MOST_STEP_MIN = 60
#: Every stretch is laid out to whole weeks of any zone with steps nobody knows.
PAD = timedelta(days=8)

#: The working grid is the same on every day.
ANY_DAY = date(2025, 6, 2)

Grid = tuple[Series, ...]
Kind = tuple[object, ...]


@dataclass(frozen=True)
class Hours:
    """Which hours count: [opens_h, closes_h) of the local day."""

    opens_h: float
    closes_h: float

    @property
    def all_day(self) -> bool:
        """Every hour counts."""
        return self.opens_h == 0 and self.closes_h == 24

    def __str__(self) -> str:
        return f"{_clock(self.opens_h)} to {_clock(self.closes_h)}"


def working_hours(base: Base) -> Hours:
    """From the earliest start to the latest end (overtime included) of the base's shifts; without shifts 07:00 to 17:00."""
    one_day = horizon_of(base, ANY_DAY, 1)
    opens_h = one_day.opens.hour + one_day.opens.minute / 60.0
    return Hours(opens_h, opens_h + one_day.slots_a_day * SLOT_MIN / 60.0)


def _clock(hour: float) -> str:
    return f"{int(hour):02}:{round(hour % 1 * 60):02}"


class Stretch:
    """Past series of one source on one grid."""

    def __init__(self, site: Site, series: Grid) -> None:
        self.site, self.series = site, series
        self.hubs: dict[float, HubWind] = {}

    def hub(self, hub_m: float) -> HubWind:
        """Wind at a hub height. ValueError without a wind."""
        if hub_m not in self.hubs:
            self.hubs[hub_m] = to_hub(self.series, hub_m, self.site.shear_exponent)
        return self.hubs[hub_m]

    def judged(self, hub_m: float, limit_set: LimitSet, stay_min: float, hours: Hours) -> Past:
        """Ready to be counted. ValueError for a variable the stretch does not hold, or a height it cannot be carried to."""
        good, unknown = judged(self.fields(hub_m), limit_set)
        grid, zone = self.series[0], self.site.time_zone
        counts = in_working_day(grid, zone, hours.opens_h, hours.closes_h)
        if limit_set.daylight:
            counts = counts & self.daylight
        return Past(grid, good, unknown, counts, stay_steps(stay_min, grid.step_min), zone)

    @cached_property
    def daylight(self) -> BoolArray:
        """bool [n]: the whole step lies in daylight."""
        grid = self.series[0]
        minutes = len(grid.values) * grid.step_min
        light = daylight_on(self.site, Span(grid.start, -(-minutes // SLOT_MIN)))
        first = np.arange(len(grid.values)) * grid.step_min // SLOT_MIN
        last = (np.arange(1, len(grid.values) + 1) * grid.step_min - 1) // SLOT_MIN
        dark = np.r_[0, np.cumsum(~light)]
        lit: BoolArray = dark[last + 1] == dark[first]
        return lit

    def fields(self, hub_m: float) -> dict[str, Field]:
        """Every variable as float [1, n], wind and gust at the hub."""
        hub = self.hub(hub_m)
        step = float(hub.series.step_min)
        fields = {
            "wind": Field(
                hub.series.usable()[None, :], HUB, hub.series.averaging_min, step, hub_m=hub.series.height_m, shear=hub.exponent
            )
        }
        for one in self.series:
            if one.variable == "gust":
                fields.setdefault(
                    "gust", replace(fields["wind"], values=hub.carry(one).usable()[None, :], averaging_min=one.averaging_min)
                )
            elif one.variable != "wind":
                fields.setdefault(one.variable, Field(one.usable()[None, :], None, one.averaging_min, step))
        return fields


def stretches_of(site: Site, rows: Iterable[WeatherSet]) -> list[Stretch]:
    """The stored past weather, oldest first. Sets of one source (same series, step and grid) become one stretch, with the
    time between them unknown; where two of a source overlap, the older set's unflagged value stands. A set coarser than
    MOST_STEP_MIN is left out."""
    kinds: dict[Kind, list[Grid]] = {}
    for row in rows:
        series = series_of(row)
        if series and series[0].step_min <= MOST_STEP_MIN:
            kinds.setdefault(_kind(series), []).append(series)
    return [Stretch(site, _laid(grids)) for grids in kinds.values()]


def _kind(series: Grid) -> Kind:
    first = series[0]
    phase = int(first.start.timestamp()) // 60 % first.step_min
    return first.step_min, phase, tuple((one.variable, one.height_m, one.averaging_min, one.name, one.member) for one in series)


def _laid(grids: Sequence[Grid]) -> Grid:
    """The series of one source on one grid from a week before the first to a week after the last."""
    step = timedelta(minutes=grids[0][0].step_min)
    start = min(grid[0].start for grid in grids) - PAD // step * step
    steps = (max(grid[0].end for grid in grids) - start + PAD) // step
    return tuple(_one([grid[n] for grid in grids], start, steps) for n in range(len(grids[0])))


def _one(parts: Sequence[Series], start: datetime, steps: int) -> Series:
    values = np.full(steps, np.nan)
    flags = np.full(steps, int(Flag.GAP), dtype=np.uint16)
    for part in parts:
        low = (part.start - start) // timedelta(minutes=part.step_min)
        here = slice(low, low + len(part.values))
        better = (flags[here] != 0) & ((part.flags == 0) | (flags[here] == int(Flag.GAP)))
        values[here] = np.where(better, part.values, values[here])
        flags[here] = np.where(better, part.flags, flags[here])
    return replace(parts[0], start=start, values=values, flags=flags)
