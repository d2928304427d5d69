"""Orders and what hangs on them, as they leave; and what each action asks for."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from planner.models import Component, Procedure, Site, Step, Turbine
from planner.rest.caller import caller_of
from planner.rest.fields import NameOf, StrictDate, StrictFloat, StrictInteger, UsernameOf, VisibleKey
from planner.rest.serializers import Cautioned, StrictSerializer
from workorders.choices import HoldKind, Klass, Severity
from workorders.lifecycle import MOVES, moves_from
from workorders.models import Finding, Hold, Order, OrderMove, StepResult


class HoldRow(serializers.ModelSerializer):
    """Something an order waits for."""

    class Meta:
        model = Hold
        fields = ["id", "order", "kind", "reason", "since", "expected_until", "cleared_on"]
        read_only_fields = fields


class OrderRow(Cautioned, serializers.ModelSerializer):
    """One job on one turbine, with what holds it and what the caller may do next."""

    site = serializers.IntegerField(source="turbine.site_id", read_only=True)
    turbine_code = serializers.CharField(source="turbine.code", read_only=True)
    component_name = NameOf(source="component")
    procedure_code = serializers.CharField(source="procedure.code", read_only=True)
    procedure_name = serializers.CharField(source="procedure.name", read_only=True)
    finished_by = UsernameOf("finished_by")
    open_holds = HoldRow(many=True, read_only=True)
    moves = serializers.SerializerMethodField(help_text="Moves the caller may make now.")

    class Meta:
        model = Order
        fields = [
            "id", "number", "site", "turbine", "turbine_code", "component", "component_name", "procedure", "procedure_code",
            "procedure_name", "interval", "origin", "klass", "state", "opens_on", "due_on", "closes_on", "effort_left_h",
            "note", "raised_at", "done_on", "finished_by", "open_holds", "moves", "caution",
        ]  # fmt: skip
        read_only_fields = fields

    def get_moves(self, order: Order) -> list[str]:
        """From the table of moves, by the caller's role at the site."""
        caller = caller_of(self.context["request"])
        role = "planner" if caller.user.is_superuser else str(caller.roles.get(order.turbine.site_id, ""))
        return list(moves_from(order.state, role))


class MoveRow(serializers.ModelSerializer):
    """One move an order made."""

    by = UsernameOf("by")

    class Meta:
        model = OrderMove
        fields = ["id", "name", "source", "target", "by", "at", "note"]
        read_only_fields = fields


class FindingRow(serializers.ModelSerializer):
    """Something found up there."""

    class Meta:
        model = Finding
        fields = [
            "id", "order", "component", "severity", "within_days", "text", "found_on", "procedure", "raised_order",
        ]  # fmt: skip
        read_only_fields = fields


class ResultRow(serializers.ModelSerializer):
    """The answer to one step."""

    by = UsernameOf("by")

    class Meta:
        model = StepResult
        fields = ["id", "order", "step", "value", "text", "by", "at"]
        read_only_fields = fields


class OrderAsked(StrictSerializer):
    """An order raised by hand."""

    turbine = VisibleKey(queryset=Turbine.objects.select_related("site"))
    procedure = VisibleKey(queryset=Procedure.objects.all())
    component = VisibleKey(queryset=Component.objects.all(), required=False, allow_null=True)
    due_on = StrictDate()
    opens_on = StrictDate(required=False, allow_null=True)
    closes_on = StrictDate(required=False, allow_null=True)
    klass = serializers.ChoiceField(choices=Klass.choices, required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=10_000)


class RaiseAsked(StrictSerializer):
    """Raise orders from what falls due at a site."""

    site = VisibleKey(queryset=Site.objects.all())
    horizon_days = StrictInteger(required=False, min_value=0, max_value=730)
    today = StrictDate(required=False)


class RaiseAnswer(serializers.Serializer):
    """What was raised, and how much had an order already or was withdrawn and is left so."""

    raised = OrderRow(many=True)
    already = serializers.IntegerField()
    withdrawn = serializers.IntegerField()


class MoveAsked(StrictSerializer):
    """A move of an order. `done_on` goes with finish."""

    name = serializers.ChoiceField(choices=list(MOVES))
    note = serializers.CharField(required=False, allow_blank=True, max_length=10_000)
    done_on = StrictDate(required=False, allow_null=True)


class EffortAsked(StrictSerializer):
    """Person-hours more (or, below 0, less) to do."""

    change_h = StrictFloat()


class HoldAsked(StrictSerializer):
    """A hold. Without `since`, from today at the site."""

    kind = serializers.ChoiceField(choices=HoldKind.choices)
    reason = serializers.CharField(max_length=160)
    since = StrictDate(required=False, allow_null=True)
    expected_until = StrictDate(required=False, allow_null=True)


class ClearAsked(StrictSerializer):
    """Clear a hold. Without `on`, today at the site."""

    on = StrictDate(required=False, allow_null=True)


class FindingAsked(StrictSerializer):
    """A finding. `within_days` goes with severity "within days"."""

    severity = serializers.ChoiceField(choices=Severity.choices)
    text = serializers.CharField(max_length=10_000)
    component = VisibleKey(queryset=Component.objects.all(), required=False, allow_null=True)
    within_days = StrictInteger(required=False, allow_null=True, min_value=1, max_value=3660)
    found_on = StrictDate(required=False, allow_null=True)
    procedure = VisibleKey(queryset=Procedure.objects.all(), required=False, allow_null=True)


class MendAsked(StrictSerializer):
    """Raise the order that mends a finding. Without a procedure, the finding's own."""

    procedure = VisibleKey(queryset=Procedure.objects.all(), required=False, allow_null=True)


class ResultAsked(StrictSerializer):
    """The answer to one step of the order's procedure: a value for a reading, a text otherwise."""

    step = VisibleKey(queryset=Step.objects.all())
    value = StrictFloat(required=False, allow_null=True)
    text = serializers.CharField(required=False, allow_blank=True, max_length=10_000)


def given(asked: dict[str, Any]) -> dict[str, Any]:
    """Without what was sent as null: services have their own defaults."""
    return {name: value for name, value in asked.items() if value is not None}
