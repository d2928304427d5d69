"""Fleets: begun over many bases, watched part by part, stopped."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.rest.fields import OwnBase, StrictDate, StrictInteger, StrictJson, UsernameOf
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import ReadViewSet
from scheduling.api.runs import PARAMS_HELP
from scheduling.choices import RunState
from scheduling.models import Fleet
from scheduling.selectors.fleets import fleet_list, fleet_parts, sums_of
from scheduling.services.fleets import fleet_stop
from scheduling.tasks import fleet_ask


class JoinedBases(serializers.Serializer):
    """Bases that are planned one after the other, in this order, and what they share."""

    bases = serializers.ListField(child=serializers.CharField())
    by = serializers.ListField(child=serializers.CharField())


class FleetRow(serializers.ModelSerializer):
    """Many bases' fortnights, begun together. Ask again while `is_open`."""

    asked_by = UsernameOf("asked_by")
    is_open = serializers.BooleanField(read_only=True)
    joined_by = JoinedBases(many=True, read_only=True)
    shared = serializers.ListField(child=serializers.CharField(), read_only=True)
    clashes = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta:
        model = Fleet
        fields = [
            "id", "state", "is_open", "first_day", "days", "seed", "params", "text", "joined_by", "shared", "clashes",
            "stop_asked", "asked_by", "asked_at", "ended_at",
        ]  # fmt: skip
        read_only_fields = fields


class FleetMoney(serializers.Serializer):
    """Parts of one currency that have a plan. `bound` and `gap` are null where no proven least of the sum is known."""

    currency = serializers.CharField()
    parts = serializers.IntegerField()
    value = serializers.FloatField()
    bound = serializers.FloatField(allow_null=True)
    gap = serializers.FloatField(allow_null=True)


class FleetSums(serializers.Serializer):
    """All parts together, as far as they are: how many there are, have ended and failed; orders; money."""

    parts = serializers.IntegerField()
    ended = serializers.IntegerField()
    failed = serializers.IntegerField(help_text="Failed, cannot be solved, or lost their worker.")
    without_plan = serializers.IntegerField(help_text="Those, and parts that had nothing to plan or were stopped too early.")
    states = serializers.DictField(child=serializers.IntegerField())
    planned = serializers.IntegerField()
    left_out = serializers.IntegerField()
    money = FleetMoney(many=True)


class FleetPart(serializers.Serializer):
    """One base's part: an ordinary run (see runs/) and, once drafted, its plan (see plans/)."""

    run = serializers.IntegerField(source="run.pk")
    base = serializers.IntegerField(source="run.base_id")
    base_name = serializers.CharField(source="run.base.name")
    follows = serializers.IntegerField(source="run.follows_id", allow_null=True, help_text="The run that must end first.")
    state = serializers.ChoiceField(source="run.state", choices=RunState.choices)
    text = serializers.CharField(source="run.text")
    value = serializers.FloatField(source="run.value", allow_null=True)
    bound = serializers.FloatField(source="run.bound", allow_null=True)
    gap = serializers.FloatField(source="run.gap", allow_null=True)
    currency = serializers.CharField()
    planned = serializers.IntegerField(allow_null=True)
    left_out = serializers.IntegerField(allow_null=True)
    plan = serializers.IntegerField(source="run.plan.pk", default=None, allow_null=True)


class FleetDetail(FleetRow):
    """With the sums of the moment and every part."""

    sums = serializers.SerializerMethodField()
    parts = serializers.SerializerMethodField()

    class Meta(FleetRow.Meta):
        fields = [*FleetRow.Meta.fields, "sums", "parts"]
        read_only_fields = fields

    @extend_schema_field(FleetSums())
    def get_sums(self, fleet: Fleet) -> Any:
        """Sums of the parts."""
        return sums_of(self._rows(fleet)).to_json()

    @extend_schema_field(FleetPart(many=True))
    def get_parts(self, fleet: Fleet) -> Any:
        """The parts by base."""
        return FleetPart(self._rows(fleet), many=True).data

    def _rows(self, fleet: Fleet) -> Any:
        """Read once for both."""
        if not hasattr(fleet, "part_rows"):
            fleet.part_rows = fleet_parts(fleet)  # type: ignore[attr-defined]
        return fleet.part_rows  # type: ignore[attr-defined]


class FleetAsked(StrictSerializer):
    """The fortnights of many bases from one day on."""

    bases = serializers.ListField(
        child=OwnBase(), required=False, max_length=5000, help_text="Left out: every base whose every site the caller plans."
    )
    first_day = StrictDate()
    days = StrictInteger(required=False, min_value=1, max_value=1000, default=14)
    seed = StrictInteger(required=False, min_value=0, max_value=2**31 - 1)
    params = StrictJson(required=False, help_text=PARAMS_HELP)

    def validate_params(self, value: Any) -> dict[str, Any]:
        """A table of names."""
        if not isinstance(value, dict):
            raise serializers.ValidationError('Give an object such as {"time_limit_s": 60}.')
        return value


class FleetViewSet(ReadViewSet):
    """Fleets all of whose sites are the caller's."""

    queryset = Fleet.objects.all()
    serializer_class = FleetRow
    filterset_class = filters_of(Fleet, "state", first_day=["exact", "gte", "lte"])
    ordering_fields = ("asked_at", "first_day")

    def get_queryset(self) -> Any:
        """Newest first."""
        return fleet_list(caller=self.caller)

    def get_serializer_class(self) -> Any:
        """The parts go with one fleet only."""
        return FleetRow if self.action == "list" else FleetDetail

    @extend_schema(request=FleetAsked, responses={202: FleetDetail})
    @idempotent
    def create(self, request: Any) -> Response:
        """Begin a fleet. 202 with the address to watch; workers take its parts up, each when one is free."""
        fleet = fleet_ask(by=request.user, **self.valid(FleetAsked, request.data))
        return self.answer(self.fresh(fleet), status.HTTP_202_ACCEPTED, Location=f"{request.path}{fleet.pk}/")

    @extend_schema(request=None, responses={202: FleetDetail})
    @action(detail=True, methods=["post"])
    @idempotent
    def stop(self, request: Any, pk: str) -> Response:
        """Ask every open part to stop; each keeps its best plan."""
        fleet = self.get_object()
        fleet_stop(fleet=fleet, by=request.user)
        return self.answer(self.fresh(fleet), status.HTTP_202_ACCEPTED)
