"""Skills, certificates, technicians, their shifts and absences."""

from __future__ import annotations

from planner.models import Absence, Certificate, CertificateKind, HeldSkill, ShiftPattern, Skill, Technician
from planner.rest.children import ParentSerializer
from planner.rest.fields import VisibleUser
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet


class SkillSerializer(RowSerializer):
    """Something a person can do."""

    class Meta:
        model = Skill
        fields = ["id", "code", "name"]


class SkillViewSet(RegisterViewSet):
    """Skills, shared by all sites."""

    queryset = Skill.objects.all()
    serializer_class = SkillSerializer
    search_fields = ("code", "name")


class CertificateKindSerializer(RowSerializer):
    """A certificate that must hold on the day of the work."""

    class Meta:
        model = CertificateKind
        fields = ["id", "code", "name", "validity_months", "early_months", "base_certificate", "rescue", "for_skill"]


class CertificateKindViewSet(RegisterViewSet):
    """Certificate kinds, shared by all sites."""

    queryset = CertificateKind.objects.all()
    serializer_class = CertificateKindSerializer
    filterset_class = filters_of(CertificateKind, "code", "base_certificate", "rescue", "for_skill")
    search_fields = ("code", "name")


class ShiftPatternSerializer(RowSerializer):
    """When a person is normally there."""

    class Meta:
        model = ShiftPattern
        fields = ["id", "name", "weekdays", "start", "end", "overtime_h"]


class ShiftPatternViewSet(RegisterViewSet):
    """Shift patterns, shared by all sites."""

    queryset = ShiftPattern.objects.all()
    serializer_class = ShiftPatternSerializer
    search_fields = ("name",)


class HeldSkillSerializer(RowSerializer):
    """A skill at a level."""

    parent_field = "technician"

    class Meta:
        model = HeldSkill
        fields = ["skill", "level"]


class TechnicianSerializer(ParentSerializer):
    """Somebody who goes up. `user` is their username, if they log in."""

    user = VisibleUser(required=False, allow_null=True)
    skills = HeldSkillSerializer(many=True, required=False)
    children = {"skills": ("skill",)}

    class Meta:
        model = Technician
        fields = ["id", "user", "name", "base", "shift_pattern", "learner", "contractor", "active", "skills"]


class TechnicianViewSet(RegisterViewSet):
    """Technicians of the caller's bases."""

    queryset = Technician.objects.select_related("user").prefetch_related("skills")
    serializer_class = TechnicianSerializer
    filterset_class = filters_of(Technician, "base", "shift_pattern", "learner", "contractor", "active")
    search_fields = ("name",)
    ordering_fields = ("name",)


class CertificateSerializer(RowSerializer):
    """Valid from `issued_on` through `valid_until`."""

    class Meta:
        model = Certificate
        fields = ["id", "technician", "kind", "issued_on", "valid_until"]


class CertificateViewSet(RegisterViewSet):
    """Certificates of the technicians of the caller's bases."""

    queryset = Certificate.objects.all()
    serializer_class = CertificateSerializer
    filterset_class = filters_of(Certificate, "technician", "kind", valid_until=["exact", "gte", "lte"])
    ordering_fields = ("valid_until", "issued_on")


class AbsenceSerializer(RowSerializer):
    """Away from `first_day` through `last_day`."""

    class Meta:
        model = Absence
        fields = ["id", "technician", "first_day", "last_day", "reason"]


class AbsenceViewSet(RegisterViewSet):
    """Absences of the technicians of the caller's bases."""

    queryset = Absence.objects.all()
    serializer_class = AbsenceSerializer
    filterset_class = filters_of(Absence, "technician", first_day=["exact", "gte", "lte"], last_day=["exact", "gte", "lte"])
    ordering_fields = ("first_day",)
