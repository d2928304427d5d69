"""A site's wind profile, fitted to stored weather: looked at, or written."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.rest.caller import PLANNERS
from planner.rest.fields import VisibleKey
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from planner.services.access import require_role
from scheduling.models import WeatherSet
from scheduling.services.shear import ShearFit, shear_fit


class ShearQuery(StrictSerializer):
    """Observed or past weather with wind at two heights."""

    weather = VisibleKey(queryset=WeatherSet.objects.select_related("site"))


class HourRow(serializers.Serializer):
    """The exponent of one hour of the day (UTC), the hours of data it rests on, and how much of it is the default."""

    hour = serializers.IntegerField()
    exponent = serializers.FloatField()
    hours = serializers.FloatField()
    default_share = serializers.FloatField()


class ShearAnswer(serializers.Serializer):
    """The site's exponent before and after. `written` says whether the site carries it now."""

    site = serializers.IntegerField()
    before = serializers.FloatField()
    after = serializers.FloatField()
    written = serializers.BooleanField()
    low_m = serializers.FloatField()
    high_m = serializers.FloatField()
    hours = serializers.FloatField()
    default_share = serializers.FloatField()
    told = serializers.CharField()
    by_hour = HourRow(many=True)


class ShearView(QueryView):
    """What a site's weather says about its wind profile."""

    query_serializer_class = ShearQuery
    serializer_class = ShearAnswer
    pagination_class = None

    @extend_schema(operation_id="shear", parameters=[ShearQuery], responses=ShearAnswer)
    def get(self, request: Any) -> Response:
        """Look; nothing is written."""
        weather = self.asked()["weather"]
        return _answer(weather, shear_fit(site=weather.site, weather_set=weather))

    @extend_schema(operation_id="shear_write", request=ShearQuery, responses=ShearAnswer)
    @idempotent
    def post(self, request: Any) -> Response:
        """Put the fitted exponent into the site."""
        weather = self.valid(ShearQuery, request.data)["weather"]
        require_role(user=request.user, site=weather.site, roles=PLANNERS)
        return _answer(weather, shear_fit(site=weather.site, weather_set=weather, write=True))


def _answer(weather: WeatherSet, fit: ShearFit) -> Response:
    fitted = fit.fitted
    rows = zip(range(24), fitted.exponent, fitted.hours, fitted.default_share, strict=True)
    return Response(
        ShearAnswer(
            {
                "site": weather.site_id, "before": fit.before, "after": fit.after, "written": fit.written, "told": fit.told,
                "low_m": fitted.low_m, "high_m": fitted.high_m, "hours": fitted.site_hours,
                "default_share": round(fitted.site_default_share, 4),
                "by_hour": [
                    {"hour": hour, "exponent": round(own, 4), "hours": hours, "default_share": round(share, 4)}
                    for hour, own, hours, share in rows
                ],
            }
        ).data
    )  # fmt: skip
