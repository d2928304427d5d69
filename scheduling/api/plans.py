"""Plans with their visits, rounds with their items."""

from __future__ import annotations

from typing import Any

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.models import Technician
from planner.rest.caller import caller_of
from planner.rest.etag import if_match_check
from planner.rest.fields import NameOf, StrictDate, UsernameOf
from planner.rest.filters import filters_of, site_filter
from planner.rest.idempotency import idempotent
from planner.rest.serializers import Cautioned, StrictSerializer
from planner.rest.views import ReadViewSet
from planner.selectors.ownership import visible
from scheduling.api.questions import PlanQuestions, VisitQuestions
from scheduling.choices import PlanState
from scheduling.models import Plan, Round, RoundItem, Visit, VisitJob
from scheduling.selectors.plans import plan_list, plan_visits, round_items
from scheduling.selectors.rounds import round_about
from scheduling.services.publish import plan_publish
from scheduling.services.told import visits_tell
from workorders.models import Order


class PlanRow(serializers.ModelSerializer):
    """One fortnight of one base."""

    published_by = UsernameOf("published_by")
    what_if = serializers.IntegerField(source="run.what_if_id", default=None, allow_null=True, read_only=True)

    class Meta:
        model = Plan
        fields = [
            "id", "base", "run", "what_if", "state", "first_day", "last_day", "parts", "value", "bound", "published_at",
            "published_by", "created_at",
        ]  # fmt: skip
        read_only_fields = fields


class LeftOut(serializers.Serializer):
    """An order that found no place, and why."""

    order = serializers.CharField()
    label = serializers.CharField()
    reason = serializers.CharField()
    by_day = serializers.CharField(required=False)


class PlanDetail(PlanRow):
    """With the caller's orders that were left out."""

    left_out = serializers.SerializerMethodField()

    class Meta(PlanRow.Meta):
        fields = [*PlanRow.Meta.fields, "left_out"]
        read_only_fields = fields

    @extend_schema_field(LeftOut(many=True))
    def get_left_out(self, plan: Plan) -> Any:
        """Only orders of the caller's sites."""
        numbers = [row["order"] for row in plan.left_out]
        orders = visible(Order.objects.filter(number__in=numbers), caller_of(self.context["request"]))
        seen = set(orders.values_list("number", flat=True))
        return [row for row in plan.left_out if row["order"] in seen]


class PersonRow(serializers.ModelSerializer):
    """Who goes."""

    class Meta:
        model = Technician
        fields = ["id", "name"]
        read_only_fields = fields


class JobRow(serializers.ModelSerializer):
    """The part of an order done on the visit."""

    order_number = serializers.CharField(source="order.number", read_only=True)
    procedure_name = serializers.CharField(source="order.procedure.name", read_only=True)

    class Meta:
        model = VisitJob
        fields = ["order", "order_number", "procedure_name", "number", "work_min"]
        read_only_fields = fields


class VisitRow(Cautioned, serializers.ModelSerializer):
    """One team at one turbine on one day. Everybody is at the tower's foot by `down_by`."""

    site = serializers.IntegerField(source="turbine.site_id", read_only=True)
    turbine_code = serializers.CharField(source="turbine.code", read_only=True)
    vehicle_name = serializers.CharField(source="vehicle.name", default="", read_only=True)
    sets_out_from_name = serializers.CharField(source="sets_out_from.name", default="", read_only=True)
    sleeps_at_name = serializers.CharField(source="sleeps_at.name", default="", read_only=True)
    people = PersonRow(many=True, read_only=True)
    jobs = JobRow(many=True, read_only=True)

    class Meta:
        model = Visit
        fields = [
            "id", "plan", "site", "turbine", "turbine_code", "vehicle", "vehicle_name", "day", "starts_at", "ends_at", "down_by",
            "sets_out_from", "sets_out_from_name", "sleeps_at", "sleeps_at_name", "chance", "by", "only_if", "told_at", "people",
            "jobs", "caution",
        ]  # fmt: skip
        read_only_fields = fields


class TellAsked(StrictSerializer):
    """The local day whose teams were told."""

    day = StrictDate()


class TellAnswer(serializers.Serializer):
    """How many visits of the day were told now."""

    day = serializers.DateField()
    told = serializers.IntegerField()


class PlanViewSet(PlanQuestions, ReadViewSet):
    """Plans of the caller's bases."""

    queryset = Plan.objects.all()
    serializer_class = PlanRow
    filterset_class = filters_of(Plan, "base", "state", "run", first_day=["exact", "gte", "lte"], last_day=["gte", "lte"])
    ordering_fields = ("first_day", "created_at", "published_at")
    paged_actions = ("list", "visits")
    if_match_actions = ("publish",)

    def get_queryset(self) -> Any:
        """With base and run, without what fills megabytes."""
        return plan_list(sites=self.caller.sites)

    def get_serializer_class(self) -> Any:
        """What was left out goes with one plan only."""
        return PlanRow if self.action == "list" else PlanDetail

    @extend_schema(request=None, responses=PlanDetail)
    @action(detail=True, methods=["post"])
    @idempotent
    def publish(self, request: Any, pk: str) -> Response:
        """Make the draft the plan people go by: checked again, its orders slotted, older plans superseded."""
        plan = self.get_object()
        if_match_check(request, self.get_serializer(plan).data)
        plan_publish(plan=plan, by=request.user)
        return self.answer(self.fresh(plan))

    @extend_schema(request=TellAsked, responses=TellAnswer)
    @action(detail=True, methods=["post"])
    @idempotent
    def tell(self, request: Any, pk: str) -> Response:
        """The teams of a day were told: changing their visits costs more from now on."""
        day = self.valid(TellAsked, request.data)["day"]
        return Response({"day": day, "told": visits_tell(plan=self.get_object(), day=day, by=request.user)})

    @extend_schema(responses=VisitRow(many=True), filters=False)
    @action(detail=True)
    def visits(self, request: Any, pk: str) -> Response:
        """The plan's visits at the caller's sites."""
        return self.page_of(visible(plan_visits(self.get_object()), self.caller), VisitRow)


class VisitViewSet(VisitQuestions, ReadViewSet):
    """Visits at the caller's sites, of all plans; `state=published` for those people go by."""

    queryset = Visit.objects.select_related("turbine", "vehicle", "sets_out_from", "sleeps_at").prefetch_related(
        "people", "jobs__order__procedure"
    )
    serializer_class = VisitRow
    filterset_class = filters_of(
        Visit, "plan", "turbine", "people", day=["exact", "gte", "lte"],
        more={
            "site": site_filter("turbine__site"),
            "state": django_filters.ChoiceFilter(field_name="plan__state", choices=PlanState.choices),
        },
    )  # fmt: skip
    ordering_fields = ("day", "starts_at", "chance")


class RoundRow(serializers.ModelSerializer):
    """One year's services and inspections of a base."""

    class Meta:
        model = Round
        fields = ["id", "base", "run", "state", "first_day", "last_day", "created_at"]
        read_only_fields = fields


class RoundDetail(RoundRow):
    """With weeks, energy, finishing dates and warnings; what names items names those of the caller's sites."""

    about = serializers.SerializerMethodField()

    class Meta(RoundRow.Meta):
        fields = [*RoundRow.Meta.fields, "about"]
        read_only_fields = fields

    def get_about(self, made: Round) -> dict[str, Any]:
        """As a member of the caller's sites may read it."""
        return round_about(made, sites=caller_of(self.context["request"]).sites)


class RoundItemRow(serializers.ModelSerializer):
    """One due item in its week (Monday), or left out with the reason."""

    turbine_code = serializers.CharField(source="turbine.code", read_only=True)
    component_name = NameOf(source="component")
    interval_code = serializers.CharField(source="interval.code", read_only=True)

    class Meta:
        model = RoundItem
        fields = [
            "id", "turbine", "turbine_code", "component", "component_name", "interval", "interval_code", "due_on", "closes_on",
            "week", "reason",
        ]  # fmt: skip
        read_only_fields = fields


class RoundViewSet(ReadViewSet):
    """Rounds of the caller's bases."""

    queryset = Round.objects.all()
    serializer_class = RoundRow
    filterset_class = filters_of(Round, "base", "state", "run")
    ordering_fields = ("first_day", "created_at")
    paged_actions = ("list", "items")

    def get_serializer_class(self) -> Any:
        """The weeks go with one round only."""
        return RoundRow if self.action == "list" else RoundDetail

    @extend_schema(responses=RoundItemRow(many=True), filters=False)
    @action(detail=True)
    def items(self, request: Any, pk: str) -> Response:
        """The round's items at the caller's sites, by week."""
        return self.page_of(visible(round_items(self.get_object()), self.caller), RoundItemRow)
