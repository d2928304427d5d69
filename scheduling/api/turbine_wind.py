"""How each turbine's own wind compares with its site's, learnt from stored weather."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from planner.models import Turbine
from planner.rest.caller import PLANNERS
from planner.rest.fields import VisibleKey
from planner.rest.filters import filters_of, site_filter
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import ReadViewSet
from planner.services.access import require_role
from scheduling.models import TurbineWind, WeatherSet
from scheduling.services.turbine_wind import turbine_wind_fit_sets


class TurbineWindRow(serializers.ModelSerializer):
    """own = factor x site + offset_mps, at the hub; rest_mps is what that leaves."""

    class Meta:
        model = TurbineWind
        fields = ["id", "turbine", "factor", "offset_mps", "pairs", "rest_mps", "fitted_at", "in_use"]
        read_only_fields = fields


class TurbineWindAsked(StrictSerializer):
    """A turbine, the stored weather with its own wind in a column, and what to hold it against: other stored weather, or,
    left out, the site's archived forecasts."""

    turbine = VisibleKey(queryset=Turbine.objects.select_related("site"))
    own = VisibleKey(queryset=WeatherSet.objects.all())
    column = serializers.CharField(max_length=200)
    against = VisibleKey(queryset=WeatherSet.objects.all(), required=False)


class TurbineWindViewSet(ReadViewSet):
    """Corrections of the turbines of the caller's sites. Whether one is in use is decided in the admin site."""

    queryset = TurbineWind.objects.all()
    serializer_class = TurbineWindRow
    filterset_class = filters_of(TurbineWind, "turbine", "in_use", more={"site": site_filter("turbine__site")})
    ordering_fields = ("turbine", "fitted_at")

    @extend_schema(request=TurbineWindAsked, responses={201: TurbineWindRow})
    @idempotent
    def create(self, request: Any) -> Response:
        """Learn a turbine's correction; a new one takes the place of the old."""
        asked = self.valid(TurbineWindAsked, request.data)
        require_role(user=request.user, site=asked["turbine"].site, roles=PLANNERS)
        row = turbine_wind_fit_sets(
            turbine=asked["turbine"], own_set=asked["own"], column=asked["column"], site_set=asked.get("against")
        )
        return self.answer(row, status.HTTP_201_CREATED, Location=f"{request.path}{row.pk}/")
