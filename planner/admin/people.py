"""Technicians with their skills, certificates and absences; shift patterns."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import admin
from django.contrib.auth import get_user_model

from planner.admin.base import ChildAdmin, RowAdmin, RowInline, ScopedFilter
from planner.admin.forms import RowForm, UsernameField
from planner.admin.scope import rows_for
from planner.models import Absence, Certificate, CertificateKind, HeldSkill, HirePeriod, ShiftPattern, Skill, Technician

WEEKDAYS = tuple(enumerate(("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"), start=1))


@admin.register(Skill)
class SkillAdmin(RowAdmin):
    """Skills, shared by all sites."""

    list_display = ("code", "name")
    search_fields = ("code", "name")


@admin.register(CertificateKind)
class CertificateKindAdmin(RowAdmin):
    """Certificate kinds, shared by all sites."""

    joins = ("for_skill",)
    list_display = ("code", "name", "validity_months", "early_months", "base_certificate", "rescue", "for_skill")
    list_filter = ("base_certificate", "rescue", ("for_skill", ScopedFilter))
    search_fields = ("code", "name")


class ShiftPatternForm(RowForm):
    """Weekdays are ticked."""

    weekdays = forms.TypedMultipleChoiceField(choices=WEEKDAYS, coerce=int, widget=forms.CheckboxSelectMultiple)


@admin.register(ShiftPattern)
class ShiftPatternAdmin(RowAdmin):
    """Shift patterns, shared by all sites."""

    form = ShiftPatternForm
    list_display = ("name", "weekdays", "start", "end", "overtime_h")
    search_fields = ("name",)


class SkillsInline(RowInline):
    """What the person can do."""

    model = HeldSkill
    joins = ("skill",)


class CertificatesInline(RowInline):
    """Their certificates."""

    model = Certificate
    joins = ("kind",)


class AbsencesInline(RowInline):
    """When they are away."""

    model = Absence
    joins = ("technician",)


class HiresInline(RowInline):
    """When a hired person is there, and for how much."""

    model = HirePeriod
    joins = ("technician",)


class TechnicianForm(RowForm):
    """The account, where the person logs in, is named by its username."""

    members: ClassVar[Any] = None
    user = UsernameField(required=False, help_text="The username, in full; empty: the person does not log in.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "user" in self.fields:
            self.fields["user"].among = type(self).members  # type: ignore[attr-defined]


@admin.register(Technician)
class TechnicianAdmin(RowAdmin):
    """Technicians of the caller's bases."""

    form = TechnicianForm
    joins = ("base", "shift_pattern", "user")
    list_display = ("name", "base", "shift_pattern", "learner", "contractor", "active", "user")
    list_filter = (("base", ScopedFilter), ("shift_pattern", ScopedFilter), "learner", "contractor", "active")
    search_fields = ("name",)
    fields = ("name", "base", "shift_pattern", "learner", "contractor", "active", "user")
    inlines = (SkillsInline, CertificatesInline, AbsencesInline, HiresInline)

    def get_form(self, request: Any, obj: Any = None, change: bool = False, **kwargs: Any) -> Any:
        """Only members of sites where the caller plans may be named."""
        form = super().get_form(request, obj, change=change, **kwargs)
        form.members = staticmethod(lambda: rows_for(self.admin_site, get_user_model(), request).filter(is_active=True))
        return form


@admin.register(HeldSkill)
class HeldSkillAdmin(ChildAdmin):
    """Who can do what."""

    joins = ("technician__base", "skill")
    list_display = ("technician", "skill", "level")
    list_filter = (("skill", ScopedFilter), ("technician__base", ScopedFilter), "level")
    search_fields = ("technician__name", "skill__code", "skill__name")
    autocomplete_fields = ("technician",)


@admin.register(Certificate)
class CertificateAdmin(RowAdmin):
    """Certificates of the technicians of the caller's bases."""

    joins = ("technician__base", "kind")
    list_display = ("technician", "kind", "issued_on", "valid_until", "base")
    list_filter = (("kind", ScopedFilter), ("technician__base", ScopedFilter))
    search_fields = ("technician__name", "kind__code", "kind__name")
    date_hierarchy = "valid_until"
    autocomplete_fields = ("technician",)

    @admin.display(ordering="technician__base__name")
    def base(self, row: Certificate) -> str:
        """Of the technician."""
        return str(row.technician.base)


@admin.register(Absence)
class AbsenceAdmin(RowAdmin):
    """Absences of the technicians of the caller's bases."""

    joins = ("technician__base",)
    list_display = ("technician", "first_day", "last_day", "reason")
    list_filter = (("technician__base", ScopedFilter),)
    search_fields = ("technician__name", "reason")
    date_hierarchy = "first_day"
    autocomplete_fields = ("technician",)
