"""Intervals and the history of work done."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from rest_framework import serializers

from planner import due
from planner.choices import Gate
from planner.models import Interval, WorkDone
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import ReadViewSet, RegisterViewSet
from planner.selectors.due_rows import inside_all

ANY_DAY = date(2000, 1, 1)


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
        """What the due list could not count with is refused here, not shown as a broken list tomorrow."""
        if row.pk and _closes_ring(row.pk, {other.pk for other in attrs.get("absorbs", [])}):
            raise ValidationError({"absorbs": "An interval absorbs neither itself nor one that absorbs it: leave it out."})
        try:
            due.Interval(
                key=row.code, trigger=row.trigger, every=row.every, first_every=row.first_every, anchor=ANY_DAY, fixed=row.fixed,
                early_days=row.early_days, late_days=row.late_days, statutory=row.statutory, stops=frozenset(row.stops),
            )  # fmt: skip
        except ValueError as error:
            field = str(error).split()[0]
            raise ValidationError({field: str(error)} if field in self.fields else str(error)) from error


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


def _closes_ring(interval_id: int, absorbs: set[int]) -> bool:
    links = list(Interval.absorbs.through.objects.values_list("from_interval_id", "to_interval_id"))
    inside = inside_all([link for link in links if link[0] != interval_id] + [(interval_id, other) for other in absorbs])
    return interval_id in inside.get(interval_id, frozenset())
