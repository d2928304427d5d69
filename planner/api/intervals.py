"""Intervals and the history of work done."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from planner.choices import Gate
from planner.models import Interval, WorkDone
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import ReadViewSet, RegisterViewSet
from planner.services.register_rules import absorbs_check


class IntervalSerializer(RowSerializer):
    """A procedure that falls due again and again."""

    stops = serializers.ListField(child=serializers.ChoiceField(choices=Gate.choices), required=False)

    class Meta:
        model = Interval
        fields = [
            "id", "code", "procedure", "scope", "turbine_type", "component_kind", "turbine", "trigger", "every", "first_every",
            "fixed", "early_days", "late_days", "statutory", "stops", "absorbs", "source", "active",
        ]  # fmt: skip

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """No ring of intervals that absorb each other."""
        absorbs_check(row, attrs.get("absorbs", ()))


class IntervalViewSet(RegisterViewSet):
    """Intervals: shared, but one for a single turbine is its site's."""

    queryset = Interval.objects.prefetch_related("absorbs")
    serializer_class = IntervalSerializer
    filterset_class = filters_of(
        Interval, "code", "procedure", "scope", "turbine_type", "component_kind", "turbine", "trigger", "statutory", "active"
    )
    search_fields = ("code", "source")


class WorkDoneSerializer(RowSerializer):
    """An interval fulfilled on an asset."""

    class Meta:
        model = WorkDone
        fields = ["id", "interval", "turbine", "component", "done_on", "due_on", "counter", "note"]
        read_only_fields = fields


class WorkDoneViewSet(ReadViewSet):
    """History, written when an order is accepted."""

    queryset = WorkDone.objects.all()
    serializer_class = WorkDoneSerializer
    filterset_class = filters_of(WorkDone, "interval", "turbine", "component", done_on=["exact", "gte", "lte"])
    ordering_fields = ("done_on",)
