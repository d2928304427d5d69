"""What the morning said, as it was said."""

from __future__ import annotations

from rest_framework import serializers

from planner.cautions import CAUTION
from planner.rest.filters import filters_of, site_filter
from planner.rest.views import ReadViewSet
from scheduling.models import Call


class CallRow(serializers.ModelSerializer):
    """One call to one visit, with the forecast it was said from."""

    by = serializers.CharField(source="by.username", default=None, allow_null=True, read_only=True)
    caution = serializers.SerializerMethodField()

    class Meta:
        model = Call
        fields = [
            "id", "visit", "verdict", "said_at", "forecast", "first_start", "last_start", "down_by", "chance", "about", "by",
            "caution",
        ]  # fmt: skip
        read_only_fields = fields

    def get_caution(self, call: Call) -> str:
        """Every answer that names a climb says who decides."""
        return CAUTION


class CallViewSet(ReadViewSet):
    """Recorded calls at the caller's sites, newest first."""

    queryset = Call.objects.select_related("by")
    serializer_class = CallRow
    filterset_class = filters_of(
        Call, "visit", "verdict", said_at=["gte", "lte"], more={"site": site_filter("visit__turbine__site")}
    )
    ordering_fields = ("said_at",)
