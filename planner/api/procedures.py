"""Limit sets with their limits, procedures with their steps and needs."""

from __future__ import annotations

from typing import Any

from planner.models import (
    Limit,
    LimitSet,
    Procedure,
    ProcedureEquipment,
    ProcedurePart,
    ProcedureSkill,
    Step,
)
from planner.rest.children import ParentSerializer
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet
from planner.services.register_rules import limit_check, procedure_check


class LimitSerializer(RowSerializer):
    """One limit of a set, in the unit its quantity names, with height, averaging and the time to stay clear."""

    parent_field = "limit_set"

    class Meta:
        model = Limit
        fields = [
            "quantity", "comparison", "value", "at_hub", "height_m", "averaging_min", "clear_after_min", "offset_c",
            "metabolic_class", "acclimatised",
        ]  # fmt: skip

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """No wind limit below cut-in."""
        limit_check(row)


class LimitSetSerializer(ParentSerializer):
    """Named limits that hold at once."""

    limits = LimitSerializer(many=True, required=False)
    children = {"limits": ("quantity", "comparison", "at_hub", "height_m", "averaging_min", "offset_c")}

    class Meta:
        model = LimitSet
        fields = ["id", "code", "name", "daylight", "gust_factor", "note", "limits"]


class LimitSetViewSet(RegisterViewSet):
    """Limit sets, shared by all sites."""

    queryset = LimitSet.objects.prefetch_related("limits")
    serializer_class = LimitSetSerializer
    filterset_class = filters_of(LimitSet, "code", "daylight")
    search_fields = ("code", "name")


class StepSerializer(RowSerializer):
    """One step. `id` is what a step result names."""

    parent_field = "procedure"

    class Meta:
        model = Step
        fields = ["id", "number", "kind", "text", "quantity", "unit", "low", "high", "hold_point"]


class ProcedureSkillSerializer(RowSerializer):
    """`count` people with the skill at `level` or above."""

    parent_field = "procedure"

    class Meta:
        model = ProcedureSkill
        fields = ["skill", "level", "count"]


class ProcedurePartSerializer(RowSerializer):
    """Parts one order uses."""

    parent_field = "procedure"

    class Meta:
        model = ProcedurePart
        fields = ["part", "quantity"]


class ProcedureEquipmentSerializer(RowSerializer):
    """Shared equipment every visit uses."""

    parent_field = "procedure"

    class Meta:
        model = ProcedureEquipment
        fields = ["equipment"]


class ProcedureSerializer(ParentSerializer):
    """How a kind of work is done, with steps and needs."""

    steps = StepSerializer(many=True, required=False)
    skill_needs = ProcedureSkillSerializer(many=True, required=False)
    part_needs = ProcedurePartSerializer(many=True, required=False)
    equipment_needs = ProcedureEquipmentSerializer(many=True, required=False)
    children = {
        "steps": ("number",),
        "skill_needs": ("skill", "level"),
        "part_needs": ("part",),
        "equipment_needs": ("equipment",),
    }

    class Meta:
        model = Procedure
        fields = [
            "id", "code", "name", "kind", "effort_person_h", "team_min", "team_max", "pack_min", "limit_set", "may_span_visits",
            "visit_least_h", "stopped_between", "stops_feeder", "ride_along", "hand_over_cost", "isolations", "cautions", "steps",
            "skill_needs",
            "part_needs", "equipment_needs",
        ]  # fmt: skip

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """A newly chosen limit set fits the turbine types of today."""
        procedure_check(row)


class ProcedureViewSet(RegisterViewSet):
    """Procedures, shared by all sites."""

    queryset = Procedure.objects.prefetch_related("steps", "skill_needs", "part_needs", "equipment_needs")
    serializer_class = ProcedureSerializer
    filterset_class = filters_of(Procedure, "code", "kind", "limit_set")
    search_fields = ("code", "name")
    ordering_fields = ("code", "effort_person_h")
