"""What planners hold: visits, teams, days an order is not on, and frozen days."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.response import Response

from planner.models import Technician
from planner.rest.fields import OffsetTime, OwnBase, StrictDate, StrictInteger, UsernameOf, VisibleKey
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import ReadViewSet
from scheduling.choices import LockKind
from scheduling.models import FrozenDay, Lock
from scheduling.services import locks
from workorders.models import Order


class LockRow(serializers.ModelSerializer):
    """One lock; it holds while `released_at` is null. `number` counts the order's visits from 0."""

    order_number = serializers.CharField(source="order.number", read_only=True)
    by = UsernameOf("by")
    released_by = UsernameOf("released_by")

    class Meta:
        model = Lock
        fields = [
            "id", "base", "order", "order_number", "kind", "number", "first_day", "last_day", "starts_at", "people", "reason",
            "by", "made_at", "released_at", "released_by",
        ]  # fmt: skip
        read_only_fields = fields


class LockAsked(StrictSerializer):
    """kind visit: order, number, starts_at. kind team: order, number, people. kind day: order, first_day, last_day."""

    kind = serializers.ChoiceField(choices=LockKind.choices)
    order = VisibleKey(queryset=Order.objects.all())
    number = StrictInteger(required=False, min_value=0, max_value=100)
    starts_at = OffsetTime(required=False)
    people = VisibleKey(queryset=Technician.objects.all(), many=True, required=False)
    first_day = StrictDate(required=False)
    last_day = StrictDate(required=False)
    reason = serializers.CharField(required=False, allow_blank=True, max_length=200)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Each kind its own fields."""
        asked, needed = FIELDS[attrs["kind"]]
        missing = {name: "Needed for this kind of lock." for name in needed if name not in attrs}
        strange = {name: f"Not for kind {attrs['kind']}: leave it out." for name in attrs if name not in asked}
        if missing or strange:
            raise ValidationError({**missing, **strange})
        return attrs


COMMON = {"kind", "order", "reason"}
FIELDS: dict[str, tuple[set[str], tuple[str, ...]]] = {
    LockKind.VISIT: (COMMON | {"number", "starts_at"}, ("starts_at",)),
    LockKind.TEAM: (COMMON | {"number", "people"}, ("people",)),
    LockKind.DAY: (COMMON | {"first_day", "last_day"}, ("first_day",)),
}
MAKE: dict[str, Callable[..., Lock]] = {
    LockKind.VISIT: locks.visit_pin,
    LockKind.TEAM: locks.team_pin,
    LockKind.DAY: locks.day_forbid,
}


class LockViewSet(ReadViewSet):
    """Locks of orders of the caller's sites, released ones too."""

    queryset = Lock.objects.select_related("order__turbine__site", "base", "by", "released_by").prefetch_related("people")
    serializer_class = LockRow
    filterset_class = filters_of(Lock, "base", "order", "kind", released_at=["isnull"], first_day=["gte", "lte"])
    ordering_fields = ("made_at", "first_day")

    @extend_schema(request=LockAsked, responses={201: LockRow})
    @idempotent
    def create(self, request: Any) -> Response:
        """Hold something. 409 with one sentence where another lock, or a fact, says otherwise."""
        asked = self.valid(LockAsked, request.data)
        lock = MAKE[asked.pop("kind")](by=request.user, **asked)
        return self.answer(self.fresh(lock), status.HTTP_201_CREATED, Location=f"{request.path}{lock.pk}/")

    @extend_schema(request=None, responses=LockRow)
    @action(detail=True, methods=["post"])
    @idempotent
    def release(self, request: Any, pk: str) -> Response:
        """Let it go."""
        lock = self.get_object()
        locks.lock_release(lock=lock, by=request.user)
        return self.answer(self.fresh(lock))


class FrozenRow(serializers.ModelSerializer):
    """A day of a base that stays as published; frozen while `released_at` is null."""

    by = UsernameOf("by")
    released_by = UsernameOf("released_by")

    class Meta:
        model = FrozenDay
        fields = ["id", "base", "day", "reason", "by", "made_at", "released_at", "released_by"]
        read_only_fields = fields


class FrozenAsked(StrictSerializer):
    """A local day of a base."""

    base = OwnBase()
    day = StrictDate()
    reason = serializers.CharField(required=False, allow_blank=True, max_length=200)


class FrozenDayViewSet(ReadViewSet):
    """Frozen days of the caller's bases, released ones too."""

    queryset = FrozenDay.objects.select_related("base", "by", "released_by")
    serializer_class = FrozenRow
    filterset_class = filters_of(FrozenDay, "base", day=["exact", "gte", "lte"], released_at=["isnull"])
    ordering_fields = ("day", "made_at")

    @extend_schema(request=FrozenAsked, responses={201: FrozenRow})
    @idempotent
    def create(self, request: Any) -> Response:
        """Freeze a day as it is published."""
        frozen = locks.day_freeze(by=request.user, **self.valid(FrozenAsked, request.data))
        return self.answer(self.fresh(frozen), status.HTTP_201_CREATED, Location=f"{request.path}{frozen.pk}/")

    @extend_schema(request=None, responses=FrozenRow)
    @action(detail=True, methods=["post"])
    @idempotent
    def release(self, request: Any, pk: str) -> Response:
        """Let the day change again."""
        frozen = self.get_object()
        locks.day_release(frozen=frozen, by=request.user)
        return self.answer(self.fresh(frozen))
