"""How far off a site's forecasts were: fits, made on asking, in use or not."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from planner.models import Site
from planner.rest.caller import PLANNERS
from planner.rest.fields import OffsetTime, VisibleKey
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.permissions import must_write
from planner.rest.serializers import StrictSerializer
from planner.rest.views import ReadViewSet
from planner.services.access import require_role
from scheduling.models import ErrorFit
from scheduling.selectors.forecast_error import fit_text
from scheduling.services.forecast_error import error_fit, error_fit_use


class ErrorFitRow(serializers.ModelSerializer):
    """What a fit rests on. The newest one in use counts."""

    text = serializers.SerializerMethodField(help_text="The same in a line.")

    class Meta:
        model = ErrorFit
        fields = ["id", "site", "fitted_at", "first_issue", "last_issue", "forecasts", "pairs", "in_use", "text", "model"]
        read_only_fields = fields

    def get_text(self, fit: ErrorFit) -> str:
        """In a line."""
        return fit_text(fit)


class ErrorFitAsked(StrictSerializer):
    """Whose forecasts, and up to when (without: up to now)."""

    site = VisibleKey(queryset=Site.objects.all())
    until = OffsetTime(required=False, help_text="Forecasts issued later are left out, with its offset.")


class ErrorFitUse(StrictSerializer):
    """In use or not."""

    in_use = serializers.BooleanField()


class ErrorFitViewSet(ReadViewSet):
    """Error fits of the caller's sites, the newest of each site first."""

    queryset = ErrorFit.objects.all()
    serializer_class = ErrorFitRow
    filterset_class = filters_of(ErrorFit, "site", "in_use")
    ordering_fields = ("fitted_at",)
    if_match_actions = ("partial_update",)

    @extend_schema(request=ErrorFitAsked, responses={201: ErrorFitRow})
    @idempotent
    def create(self, request: Any) -> Response:
        """Fit the site's stored forecasts to what was measured. Refused where there are too few."""
        asked = self.valid(ErrorFitAsked, request.data)
        require_role(user=request.user, site=asked["site"], roles=PLANNERS)
        fit = error_fit(**asked)
        return self.answer(self.fresh(fit), status.HTTP_201_CREATED, Location=f"{request.path}{fit.pk}/")

    @extend_schema(request=ErrorFitUse, responses=ErrorFitRow)
    def partial_update(self, request: Any, pk: str) -> Response:
        """Take the fit into use or out of it."""
        with transaction.atomic():
            fit = self.locked()
            must_write(fit, request, self.write_roles)
            error_fit_use(fit=fit, **self.valid(ErrorFitUse, request.data))
            return self.answer(self.fresh(fit))
