"""A site's own wind profile from wind measured at two heights. Written only when the planner says so."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import PlannerError
from planner.models import Site
from planner.services.rows import checked
from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.selectors.weather import series_of
from scheduling.weather.shear import FittedExponents, fitted_exponents, shear_pair


@dataclass(frozen=True)
class ShearFit:
    """The site's exponent before and after, what it rests on, and whether it was written."""

    before: float
    after: float
    fitted: FittedExponents
    written: bool

    @property
    def told(self) -> str:
        """In one sentence."""
        fit = self.fitted
        rests = (
            f"{fit.site_hours:,.0f} hours at {fit.low_m:g} and {fit.high_m:g} m, {fit.site_default_share:.0%} of it the default"
        )
        return f"Wind profile exponent {self.before:.3f} before, {self.after:.3f} {self._now}: from {rests}."

    @property
    def _now(self) -> str:
        return "now" if self.written else "by this weather, not written"


def shear_fit(*, site: Site, weather_set: WeatherSet, write: bool = False) -> ShearFit:
    """Fit the site's exponent to stored wind at two heights; with `write`, put it into the site (with history).

    Raises PlannerError for weather of another site, a forecast, or weather that tells no profile.
    """
    if weather_set.site_id != site.pk:
        raise PlannerError("The weather belongs to another site: choose some of this site.", field="weather")
    if weather_set.kind == SeriesKind.FORECAST:
        raise PlannerError(
            "A forecast tells a model's profile, not the site's: choose observed or past weather.", field="weather"
        )
    try:
        fitted = fitted_exponents(*shear_pair(series_of(weather_set)))
    except ValueError as error:
        raise PlannerError(str(error), field="weather") from error
    before, after = site.shear_exponent, round(fitted.site, 3)
    if write:
        site.shear_exponent = after
        checked(site).save(update_fields=["shear_exponent"])
    return ShearFit(before, after, fitted, write)
