"""Reading stored weather."""

from __future__ import annotations

from datetime import datetime, timedelta

from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.weather.archive import unpack_series
from scheduling.weather.series import Series


def newest_forecast(*, site: Site, at: datetime | None = None) -> WeatherSet | None:
    """The forecast of the site issued last, not after `at`."""
    forecasts = WeatherSet.objects.filter(site=site, kind=SeriesKind.FORECAST)
    if at is not None:
        forecasts = forecasts.filter(issued_at__lte=at)
    return forecasts.order_by("-issued_at", "-id").first()


def past_years(*, site: Site) -> list[WeatherSet]:
    """Past weather of the site, oldest first."""
    return list(WeatherSet.objects.filter(site=site, kind=SeriesKind.PAST).order_by("starts_at"))


def newest_observed(*, site: Site, at: datetime) -> WeatherSet | None:
    """The observations that end last, not after `at`."""
    observed = WeatherSet.objects.filter(site=site, kind=SeriesKind.OBSERVED, ends_at__lte=at)
    return observed.order_by("-ends_at", "-id").first()


def series_of(weather_set: WeatherSet) -> tuple[Series, ...]:
    """The stored series, flags included."""
    return unpack_series(bytes(weather_set.data), weather_set.about["series"], weather_set.starts_at, weather_set.step_min)


def age_h(forecast: WeatherSet, now: datetime) -> float:
    """Hours since the forecast was issued."""
    if forecast.issued_at is None:
        raise ValueError("forecast: it has no issue time")
    return (now - forecast.issued_at) / timedelta(hours=1)


def is_stale(forecast: WeatherSet | None, site: Site, now: datetime) -> bool:
    """Missing, or older than the site's stale_after_h: never workable."""
    return forecast is None or age_h(forecast, now) > site.stale_after_h
