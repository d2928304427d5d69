"""Runs: asked for, watched, stopped."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.errors import ConflictError
from planner.rest.caller import caller_of
from planner.rest.fields import OwnBase, StrictDate, StrictInteger, StrictJson, UsernameOf
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import ReadViewSet
from planner.selectors.ownership import visible
from scheduling.choices import RunKind
from scheduling.models import Run
from scheduling.selectors.plans import run_list
from scheduling.services.runs import run_stop
from scheduling.services.runs.create import planner_required
from scheduling.tasks import run_ask
from workorders.models import Order


class RunRow(serializers.ModelSerializer):
    """A solve, as far as it is. Ask again while `is_open`."""

    asked_by = UsernameOf("asked_by")
    plan = serializers.IntegerField(source="plan.pk", default=None, allow_null=True, read_only=True)
    round = serializers.IntegerField(source="round.pk", default=None, allow_null=True, read_only=True)
    is_open = serializers.BooleanField(read_only=True)

    class Meta:
        model = Run
        fields = [
            "id", "base", "kind", "state", "is_open", "first_day", "days", "params", "seed", "status", "text", "value", "bound",
            "gap", "seconds", "attempt", "stop_asked", "asked_by", "asked_at", "started_at", "beat_at", "ended_at", "plan",
            "round", "what_if", "fleet",
        ]  # fmt: skip
        read_only_fields = fields


class RepairChange(serializers.Serializer):
    """A visit that did not stay: its order, and what became of it and why."""

    order = serializers.CharField()
    text = serializers.CharField()


class RunDetail(RunRow):
    """With each improvement as [seconds, value, bound], what solved it, and what a repair changed (of the caller's orders)."""

    changes = serializers.SerializerMethodField()

    class Meta(RunRow.Meta):
        fields = [*RunRow.Meta.fields, "trace", "versions", "changes"]
        read_only_fields = fields

    @extend_schema_field(RepairChange(many=True))
    def get_changes(self, run: Run) -> Any:
        """Only of orders of the caller's sites."""
        numbers = [row["order"] for row in run.changes]
        if not numbers:
            return []
        orders = visible(Order.objects.filter(number__in=numbers), caller_of(self.context["request"]))
        seen = set(orders.values_list("number", flat=True))
        return [row for row in run.changes if row["order"] in seen]


PARAMS_HELP = (
    '{"time_limit_s": seconds, "gap": share, "start": "published"}, all optional. With start the published plan is mended: '
    "visits that nothing forces to change stay."
)


class RunAsked(StrictSerializer):
    """A fortnight's plan or a year's round of a base."""

    base = OwnBase()
    kind = serializers.ChoiceField(choices=RunKind.choices)
    first_day = StrictDate()
    days = StrictInteger(min_value=1, max_value=1000)
    seed = StrictInteger(required=False, min_value=0, max_value=2**31 - 1)
    params = StrictJson(required=False, help_text=PARAMS_HELP)

    def validate_params(self, value: Any) -> dict[str, Any]:
        """A table of names."""
        if not isinstance(value, dict):
            raise serializers.ValidationError('Give an object such as {"time_limit_s": 60}.')
        return value


class RunViewSet(ReadViewSet):
    """Runs of the caller's bases."""

    queryset = Run.objects.all()
    serializer_class = RunRow
    filterset_class = filters_of(Run, "base", "kind", "state", "what_if", "fleet", first_day=["exact", "gte", "lte"])
    ordering_fields = ("asked_at", "first_day")

    def get_queryset(self) -> Any:
        """Without what fills megabytes; the trace only for one run."""
        rows = run_list(sites=self.caller.sites)
        return rows if self.action == "list" else rows.defer(None).defer("problem", "best", "error")

    def get_serializer_class(self) -> Any:
        """The trace goes with one run only."""
        return RunRow if self.action == "list" else RunDetail

    @extend_schema(request=RunAsked, responses={202: RunDetail})
    @idempotent
    def create(self, request: Any) -> Response:
        """Ask for a solve. 202 with the address to watch; a worker takes it up."""
        run = run_ask(by=request.user, **self.valid(RunAsked, request.data))
        return self.answer(self.fresh(run), status.HTTP_202_ACCEPTED, Location=f"{request.path}{run.pk}/")

    @extend_schema(request=None, responses={202: RunDetail})
    @action(detail=True, methods=["post"])
    @idempotent
    def stop(self, request: Any, pk: str) -> Response:
        """Ask the run to stop; it keeps its best plan."""
        run = self.get_object()
        run_stop(run=run, by=request.user)
        return self.answer(self.fresh(run), status.HTTP_202_ACCEPTED)

    @extend_schema(responses=OpenApiTypes.OBJECT, filters=False)
    @action(detail=True, pagination_class=None)
    def problem(self, request: Any, pk: str) -> Response:
        """The frozen problem, to replay it elsewhere. Names people: for planners of every site of the base."""
        run = self.get_object()
        planner_required(user=request.user, base=run.base)
        if run.problem is None:
            raise ConflictError("The problem of this part of a fleet is built when a worker begins it: ask again then.")
        return Response(run.problem)
