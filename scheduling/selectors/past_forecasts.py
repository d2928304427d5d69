"""Past forecasts of a site beside what was measured then, both at the hub: what the error model is fitted to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from statistics import median_low

import numpy as np

from planner.errors import PlannerError
from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.selectors.weather import series_of
from scheduling.weather.error import EnsembleCourse
from scheduling.weather.height import to_hub
from scheduling.weather.series import FloatArray, Series
from scheduling.weather.series import series_of as plain_series
from scheduling.weather.slots import MAX_STEP_MIN, to_slots

LOOKED_BACK = timedelta(days=730)
"""Older forecasts came from other models than today's."""


def site_hub_m(site: Site) -> float:
    """The middle hub height of the site's turbines: where forecasts and measurements are compared."""
    heights = list(site.turbines.values_list("hub_height_m", flat=True))
    if not heights:
        raise PlannerError(f"{site} has no turbine, and so no hub to compare winds at: enter its turbines first.", field="site")
    return float(median_low(heights))


def past_courses(*, site: Site, until: datetime) -> Iterator[tuple[datetime, EnsembleCourse]]:
    """(issue time, course) of every forecast issued in the two years before `until`, oldest first.

    A single forecast is an ensemble of one. Flagged values count as missing, in both. Left out are forecasts in steps of more
    than an hour, for no stay is ever called from them, and those issued when nothing was measured.
    """
    hub_m = site_hub_m(site)
    first = until - LOOKED_BACK
    measured = _measured(site, hub_m, first, until)
    rows = WeatherSet.objects.filter(
        site=site, kind=SeriesKind.FORECAST, issued_at__gte=first, issued_at__lte=until, step_min__lte=MAX_STEP_MIN
    )
    for row in rows.order_by("issued_at", "id").iterator(chunk_size=50):
        observed = _observed(measured, row)
        if row.issued_at is not None and np.isfinite(observed).any():
            first_h = (row.starts_at - row.issued_at) / timedelta(hours=1)
            lead_h = np.asarray(first_h + np.arange(len(observed)) * (row.step_min / 60.0), dtype=np.float64)
            members = _members(row, hub_m, site.shear_exponent)
            yield row.issued_at, EnsembleCourse(lead_h, members, observed, row.issued_at.toordinal())


def _members(row: WeatherSet, hub_m: float, exponent: float | None) -> FloatArray:
    """float64 [m, t]: each member's wind at the hub; the single forecast only where there is no member."""
    winds: dict[int, list[Series]] = {}
    for one in series_of(row):
        if one.variable == "wind":
            winds.setdefault(one.member, []).append(one)
    if len(winds) > 1:
        winds.pop(0, None)
    return np.array([to_hub(winds[member], hub_m, exponent).series.usable() for member in sorted(winds)])


def _measured(site: Site, hub_m: float, first: datetime, until: datetime) -> list[Series]:
    """The site's measured wind at the hub, one long series for each grid it came on; of two values the later received."""
    rows = WeatherSet.objects.filter(
        site=site, kind=SeriesKind.OBSERVED, ends_at__gt=first, starts_at__lt=until + timedelta(days=16)
    )
    grids: dict[tuple[int, int], list[Series]] = {}
    for row in rows.order_by("received_at", "id").iterator(chunk_size=50):
        wind = to_hub(series_of(row), hub_m, site.shear_exponent).series
        phase = int(wind.start.timestamp()) // 60 % wind.step_min
        grids.setdefault((wind.step_min, phase), []).append(wind)
    return [_joined(series) for series in grids.values()]


def _joined(series: list[Series]) -> Series:
    start, end = min(one.start for one in series), max(one.end for one in series)
    first = series[0]
    values = np.full(int((end - start) / timedelta(minutes=first.step_min)), np.nan)
    for one in series:
        at = int((one.start - start) / timedelta(minutes=first.step_min))
        usable = one.usable()
        part = values[at : at + len(usable)]
        part[:] = np.where(np.isfinite(usable), usable, part)
    return plain_series(
        "wind", values, start=start, step_min=first.step_min, height_m=first.height_m, averaging_min=first.averaging_min
    )


def _observed(measured: list[Series], row: WeatherSet) -> FloatArray:
    """float64 [t]: the mean measured wind over each step of a forecast; NaN unless the whole step is known."""
    steps = int((row.ends_at - row.starts_at) / timedelta(minutes=row.step_min))
    found = np.full(steps, np.nan)
    for series in measured:
        if series.start < row.ends_at and series.end > row.starts_at:
            means = to_slots(series, start=row.starts_at, slot_min=row.step_min, slots=steps, how="mean").values
            found = np.where(np.isfinite(found), found, means)
    return found
