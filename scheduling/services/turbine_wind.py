"""How each turbine's own wind compares with its site's. The only writer of TurbineWind."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Turbine
from scheduling.models import TurbineWind, WeatherSet
from scheduling.selectors.turbine_wind import forecasts_over
from scheduling.selectors.weather import series_of
from scheduling.weather.height import to_hub
from scheduling.weather.series import Series
from scheduling.weather.stitch import as_issued
from scheduling.weather.turbine_wind import clock_shift, fit_turbine_wind, paired

#: A wind measured this far from the hub, as a share of its height, is not the turbine's own.
HUB_SHARE = 0.1


def turbine_wind_fit(*, turbine: Turbine, own: Series, site_series: Sequence[Series], at: datetime | None = None) -> TurbineWind:
    """Learn the turbine's correction from its own wind and the wind of its site in the same hours; a later fit replaces it.

    own             wind at the turbine's hub
    site_series     the site's wind on one grid, at any heights: forecasts as they were, or what stands for them

    Whether the correction is in use stays as it was. Raises PlannerError when the two do not belong together: another
    height, no time in common, clocks that differ by hours, or fewer hours than a week.
    """
    _check(turbine, own)
    try:
        hub = to_hub(site_series, turbine.hub_height_m, turbine.site.shear_exponent)
        own_mps, site_mps = paired(own, hub.series)
        fit = fit_turbine_wind(own_mps, site_mps)
    except ValueError as error:
        raise PlannerError(f"{turbine}: {error}", field="own") from error
    shift = clock_shift(own_mps, site_mps)
    if shift:
        raise PlannerError(_off(turbine, shift * max(60, own.step_min, hub.series.step_min) / 60.0), field="own")
    told = {"factor": fit.factor, "offset_mps": fit.offset_mps, "pairs": fit.pairs, "rest_mps": fit.rest_mps}
    return TurbineWind.objects.update_or_create(turbine=turbine, defaults={**told, "fitted_at": at or now_utc()})[0]


def turbine_wind_fit_sets(
    *, turbine: Turbine, own_set: WeatherSet, column: str, site_set: WeatherSet | None = None
) -> TurbineWind:
    """The same from stored weather of the turbine's site: one column of `own_set` against the other wind of `site_set`, or,
    without that, against the site's archived forecasts as they were issued."""
    for name, weather in (("own", own_set), ("against", site_set)):
        if weather is not None and weather.site_id != turbine.site_id:
            raise PlannerError("The weather belongs to another site: choose some of the turbine's.", field=name)
    series = series_of(own_set)
    own = next((one for one in series if one.name == column and one.variable == "wind"), None)
    if own is None:
        winds = ", ".join(one.name for one in series if one.variable == "wind")
        raise PlannerError(f"There is no wind in a column {column!r}: choose one of {winds}.", field="column")
    if site_set is None:
        return turbine_wind_fit(turbine=turbine, own=own, site_series=[_archived(turbine, own)])
    others = [one for one in series_of(site_set) if own_set.pk != site_set.pk or one.name != column]
    return turbine_wind_fit(turbine=turbine, own=own, site_series=others)


def _archived(turbine: Turbine, own: Series) -> Series:
    """The site's archived forecasts over the time of the own record, carried to the hub."""
    rows = forecasts_over(site=turbine.site, start=own.start, end=own.end)
    said = (
        (row.issued_at or row.starts_at, to_hub(_winds(row), turbine.hub_height_m, turbine.site.shear_exponent)) for row in rows
    )
    try:
        return as_issued([(issued_at, hub.series) for issued_at, hub in said], own.start, own.end)
    except ValueError as error:
        raise PlannerError(f"{turbine}: no archived forecast covers its record: give weather to hold it against.",
                           field="against") from error  # fmt: skip


def _winds(row: WeatherSet) -> list[Series]:
    """The wind of a single forecast, or of the first member of an ensemble (their mean would be too smooth)."""
    winds = [one for one in series_of(row) if one.variable == "wind"]
    first = min((one.member for one in winds), default=0)
    return [one for one in winds if one.member == first]


def _check(turbine: Turbine, own: Series) -> None:
    if own.variable != "wind":
        raise PlannerError(f"{own.name or own.variable} is no wind: give the turbine's mean wind.", field="own")
    if abs(own.height_m - turbine.hub_height_m) > HUB_SHARE * turbine.hub_height_m:
        heights = f"its hub is at {turbine.hub_height_m:g} m, the wind at {own.height_m:g} m"
        raise PlannerError(f"{turbine}: {heights}: give wind measured at the hub.", field="own")


def _off(turbine: Turbine, hours: float) -> str:
    way = "later" if hours > 0 else "earlier"
    fits = f"{turbine}: its wind fits the site's best {abs(hours):g} h {way}: one of the two clocks is wrong."
    return f"{fits} Correct the zone in the recipe and read the file again."
