"""What the morning said, as it was said."""

from __future__ import annotations

from rest_framework import serializers

from planner.rest.fields import UsernameOf
from planner.rest.filters import filters_of, site_filter
from planner.rest.serializers import Cautioned
from planner.rest.views import ReadViewSet
from scheduling.models import Call


class CallRow(Cautioned, serializers.ModelSerializer):
    """One call to one visit, with the forecast it was said from."""

    by = UsernameOf("by")

    class Meta:
        model = Call
        fields = [
            "id", "visit", "verdict", "said_at", "forecast", "first_start", "last_start", "down_by", "chance", "about", "by",
            "caution",
        ]  # fmt: skip
        read_only_fields = fields


class CallViewSet(ReadViewSet):
    """Recorded calls at the caller's sites, newest first."""

    queryset = Call.objects.select_related("by")
    serializer_class = CallRow
    filterset_class = filters_of(
        Call, "visit", "verdict", said_at=["gte", "lte"], more={"site": site_filter("visit__turbine__site")}
    )
    ordering_fields = ("said_at",)
