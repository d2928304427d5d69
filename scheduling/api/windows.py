"""When a stay fits at a turbine, from the newest forecast."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.cautions import CAUTION
from planner.clock import now_utc
from planner.models import LimitSet, Turbine
from planner.rest.fields import StrictFloat, StrictInteger, VisibleKey
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from scheduling.selectors.windows import Bound, Start, Windows, access_windows


class WindowQuery(StrictSerializer):
    """Which stay, where, inside which limits."""

    turbine = VisibleKey(queryset=Turbine.objects.select_related("site", "type"))
    limit_set = VisibleKey(queryset=LimitSet.objects.prefetch_related("limits"))
    stay_min = StrictFloat(help_text="Way up, work, packing and way down, in minutes.")
    days = StrictInteger(required=False, min_value=1, max_value=16)


class WindowBinding(serializers.Serializer):
    """The limit that closes a start, at the time at which most members are lost. An unknown value is null."""

    at = serializers.DateTimeField()
    variable = serializers.CharField()
    name = serializers.CharField()
    value = serializers.FloatField(allow_null=True)
    comparison = serializers.CharField()
    limit = serializers.FloatField(allow_null=True)
    unit = serializers.CharField()
    blocked_share = serializers.FloatField(help_text="Share of the members that the limit blocks there.")


class WindowStart(serializers.Serializer):
    """One start, the chance that the whole stay fits, and what binds where it is too small."""

    start = serializers.DateTimeField()
    chance = serializers.FloatField()
    down_by = serializers.DateTimeField(allow_null=True, help_text="Who goes up at this start is down by then; null: nobody.")
    limit = serializers.CharField()
    binding = WindowBinding(allow_null=True)


class WindowOpening(serializers.Serializer):
    """An unbroken row of good starts; the last is the last safe start, `down_by` is for those who take it."""

    first_start = serializers.DateTimeField()
    last_start = serializers.DateTimeField()
    down_by = serializers.DateTimeField()


class WindowBlocked(serializers.Serializer):
    """A stretch in which too few members are workable, and the one limit that closes it, at its worst."""

    start = serializers.DateTimeField()
    end = serializers.DateTimeField()
    binding = WindowBinding(allow_null=True)


class WindowAnswer(serializers.Serializer):
    """Chances by start. Empty where the forecast is missing or stale; `note` says so."""

    issued_at = serializers.DateTimeField(allow_null=True)
    age_h = serializers.FloatField(allow_null=True)
    confidence = serializers.FloatField()
    shear = serializers.CharField()
    longest_h = serializers.FloatField(help_text="The longest stay that fits at the confidence, in hours.")
    longest_start = serializers.DateTimeField(allow_null=True)
    longest_end = serializers.DateTimeField(allow_null=True)
    note = serializers.CharField()
    caution = serializers.CharField()
    openings = WindowOpening(many=True)
    blocked = WindowBlocked(many=True)
    starts = WindowStart(many=True)


FACTS = ("issued_at", "age_h", "confidence", "shear", "longest_h", "longest_start", "longest_end", "note", "openings")


class WindowsView(QueryView):
    """When a stay fits at a turbine."""

    query_serializer_class = WindowQuery
    serializer_class = WindowAnswer
    pagination_class = None

    @extend_schema(operation_id="windows", parameters=[WindowQuery], responses=WindowAnswer)
    def get(self, request: Any) -> Response:
        """Chances of the stay from the newest forecast."""
        return Response(WindowAnswer(_answer(access_windows(now=now_utc(), **self.asked()))).data)


def _answer(found: Windows) -> dict[str, Any]:
    return {
        **{name: getattr(found, name) for name in FACTS},
        "caution": CAUTION,
        "blocked": [{"start": one.start, "end": one.end, "binding": _binding(one.bound)} for one in found.blocked],
        "starts": [_start(one) for one in found.starts],
    }


def _start(one: Start) -> dict[str, Any]:
    facts = {name: getattr(one, name) for name in ("start", "chance", "down_by", "limit")}
    return {**facts, "binding": _binding(one.bound)}


def _binding(bound: Bound | None) -> dict[str, Any] | None:
    if bound is None:
        return None
    found = bound.binding
    return {
        "at": bound.at,
        "variable": found.variable,
        "name": found.name,
        "value": _known(found.value),
        "comparison": found.op,
        "limit": _known(found.limit),
        "unit": found.unit,
        "blocked_share": round(found.blocked_share, 3),
    }


def _known(value: float) -> float | None:
    return None if value != value else round(value, 3)
