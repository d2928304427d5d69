"""Limit sets with their limits, procedures with their steps and needs."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import admin

from planner.admin.base import ChildAdmin, RowAdmin, RowInline, ScopedFilter
from planner.admin.forms import RowForm
from planner.models import Limit, LimitSet, Procedure, ProcedureEquipment, ProcedurePart, ProcedureSkill, Step
from planner.services.register_rules import limit_check, procedure_check


class LimitForm(RowForm):
    """Asks the turbine types too."""

    def judge(self, row: Any) -> None:
        """No wind limit below cut-in."""
        limit_check(row)


class LimitInline(RowInline):
    """The limits of a set, each over three lines: what, where and for how long, and what heat asks."""

    model = Limit
    form = LimitForm
    template = "admin/edit_inline/stacked.html"
    fields = (
        ("quantity", "comparison", "value"),
        ("at_hub", "height_m", "averaging_min", "clear_after_min"),
        ("offset_c", "metabolic_class", "acclimatised"),
    )


@admin.register(LimitSet)
class LimitSetAdmin(RowAdmin):
    """Limit sets, shared by all sites."""

    list_display = ("code", "name", "daylight", "gust_factor")
    list_filter = ("daylight",)
    search_fields = ("code", "name", "note")
    inlines = (LimitInline,)


@admin.register(Limit)
class LimitAdmin(ChildAdmin):
    """Every limit of every set; who changed which value."""

    form = LimitForm
    joins = ("limit_set",)
    list_display = (
        "limit_set", "quantity", "comparison", "value", "at_hub", "height_m", "averaging_min", "clear_after_min", "offset_c",
    )  # fmt: skip
    list_filter = ("quantity", ("limit_set", ScopedFilter))
    search_fields = ("limit_set__code", "limit_set__name")


class StepInline(RowInline):
    """The steps in their order."""

    model = Step
    ordering = ("number",)


class SkillInline(RowInline):
    """Skills the team needs."""

    model = ProcedureSkill
    joins = ("skill",)


class PartInline(RowInline):
    """Parts one order uses."""

    model = ProcedurePart
    joins = ("part",)


class EquipmentInline(RowInline):
    """Shared equipment every visit uses."""

    model = ProcedureEquipment
    joins = ("equipment",)


class ProcedureForm(RowForm):
    """Asks the limit set too."""

    def judge(self, row: Any) -> None:
        """A newly chosen one fits the turbine types of today."""
        procedure_check(row)


@admin.register(Procedure)
class ProcedureAdmin(RowAdmin):
    """Procedures, shared by all sites."""

    form = ProcedureForm
    joins = ("limit_set",)
    list_display = ("code", "name", "kind", "effort_person_h", "team_min", "team_max", "limit_set", "may_span_visits")
    list_filter = ("kind", ("limit_set", ScopedFilter), "may_span_visits", "stops_feeder")
    search_fields = ("code", "name")
    inlines = (StepInline, SkillInline, PartInline, EquipmentInline)


@admin.register(Step)
class StepAdmin(ChildAdmin):
    """Every step of every procedure."""

    joins = ("procedure",)
    list_display = ("procedure", "number", "kind", "text", "unit", "low", "high", "hold_point")
    list_filter = ("kind", "hold_point")
    search_fields = ("procedure__code", "procedure__name", "text", "quantity")
    autocomplete_fields = ("procedure",)


class NeedAdmin(ChildAdmin):
    """What a procedure needs."""

    autocomplete_fields: ClassVar[Any] = ("procedure",)


@admin.register(ProcedureSkill)
class ProcedureSkillAdmin(NeedAdmin):
    """Skills."""

    joins = ("procedure", "skill")
    list_display = ("procedure", "skill", "level", "count")
    list_filter = (("skill", ScopedFilter),)
    search_fields = ("procedure__code", "procedure__name", "skill__code")


@admin.register(ProcedurePart)
class ProcedurePartAdmin(NeedAdmin):
    """Parts."""

    joins = ("procedure", "part")
    list_display = ("procedure", "part", "quantity")
    search_fields = ("procedure__code", "procedure__name", "part__code", "part__name")
    autocomplete_fields: ClassVar[Any] = ("procedure", "part")


@admin.register(ProcedureEquipment)
class ProcedureEquipmentAdmin(NeedAdmin):
    """Equipment."""

    joins = ("procedure", "equipment")
    list_display = ("procedure", "equipment")
    list_filter = (("equipment", ScopedFilter),)
    search_fields = ("procedure__code", "procedure__name", "equipment__name")
