"""Corrections learnt for turbines, and the archived forecasts they are learnt from."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from planner.models import Site, Turbine
from scheduling.choices import SeriesKind
from scheduling.models import TurbineWind, WeatherSet
from scheduling.weather.turbine_wind import NO_CORRECTION, TurbineFit


def turbine_fit(*, turbine: Turbine) -> TurbineFit:
    """The turbine's correction in use; no correction without one."""
    row = TurbineWind.objects.filter(turbine=turbine, in_use=True).first()
    return NO_CORRECTION if row is None else _fit(row)


def turbine_fits(*, site: Site) -> dict[int, TurbineFit]:
    """Turbine id -> correction in use, for the turbines of a site that have one."""
    return {row.turbine_id: _fit(row) for row in TurbineWind.objects.filter(turbine__site=site, in_use=True)}


def forecasts_over(*, site: Site, start: datetime, end: datetime) -> Iterator[WeatherSet]:
    """The site's archived forecasts that say something about [start, end), oldest issue first, a few at a time."""
    found = WeatherSet.objects.filter(site=site, kind=SeriesKind.FORECAST, starts_at__lt=end, ends_at__gt=start)
    return found.order_by("issued_at", "pk").iterator(chunk_size=50)


def _fit(row: TurbineWind) -> TurbineFit:
    return TurbineFit(row.factor, row.offset_mps, row.pairs, row.rest_mps)
