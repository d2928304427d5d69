"""Technicians, what they can do, when they are there, and who may see which site."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from planner.choices import Role
from planner.models.base import Record, above, at_least, in_order
from planner.models.sites import Base, Site
from planner.validators import weekdays


class Membership(Record):
    """A user's role at a site."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role.choices)

    class Meta:
        ordering = ["site", "user"]
        constraints = [models.UniqueConstraint(fields=["user", "site"], name="membership_once")]

    def __str__(self) -> str:
        return f"{self.user} {self.role} at {self.site}"


class ShiftPattern(Record):
    """When a person is normally there. Times are local to the base; overtime may follow the regular end."""

    name = models.CharField(max_length=60, unique=True)
    weekdays = models.JSONField(validators=[weekdays], help_text="ISO weekdays, for example [1, 2, 3, 4, 5].")
    start = models.TimeField()
    end = models.TimeField(help_text="Regular end.")
    overtime_h = models.FloatField(default=0, help_text="Most hours after the regular end.")

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__gt=models.F("start")),
                name="shift_end_after_start",
                violation_error_message="The shift must end after it starts, on the same day.",
            ),
            at_least("overtime_h", 0, "shift_overtime"),
        ]

    def __str__(self) -> str:
        return self.name


class Skill(Record):
    """Something a person can do at a level."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class CertificateKind(Record):
    """A certificate that must hold on the day of the work."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    validity_months = models.PositiveSmallIntegerField(default=24)
    early_months = models.PositiveSmallIntegerField(
        default=2, help_text="Renewed at most this early, it keeps its original date."
    )
    base_certificate = models.BooleanField(default=False, help_text="Without it nobody goes up.")
    rescue = models.BooleanField(default=False, help_text="Makes its holder rescue-capable.")
    for_skill = models.ForeignKey(
        Skill, null=True, blank=True, on_delete=models.PROTECT, help_text="The skill counts only while this certificate holds."
    )

    class Meta:
        ordering = ["code"]
        constraints = [above("validity_months", 0, "certificate_kind_validity")]

    def __str__(self) -> str:
        return self.name


class Technician(Record):
    """Somebody who goes up."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="technician"
    )
    name = models.CharField(max_length=80, unique=True)
    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="technicians")
    shift_pattern = models.ForeignKey(ShiftPattern, on_delete=models.PROTECT, related_name="technicians")
    learner = models.BooleanField(default=False, help_text="Travels along, counts neither for the team nor for skills.")
    contractor = models.BooleanField(
        default=False, help_text="Hired: there on the days of a hire period only, and without any period not at all."
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class HeldSkill(Record):
    """A skill a technician holds at a level."""

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="skills")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT)
    level = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["technician", "skill"]
        constraints = [
            models.UniqueConstraint(fields=["technician", "skill"], name="held_skill_once"),
            at_least("level", 1, "held_skill_level"),
        ]

    def __str__(self) -> str:
        return f"{self.skill} {self.level}"


class Certificate(Record):
    """A certificate of a technician, valid from `issued_on` through `valid_until` (both days included)."""

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="certificates")
    kind = models.ForeignKey(CertificateKind, on_delete=models.PROTECT)
    issued_on = models.DateField()
    valid_until = models.DateField()

    class Meta:
        ordering = ["technician", "kind", "valid_until"]
        constraints = [
            in_order("issued_on", "valid_until", "certificate_ends_after_start"),
            models.UniqueConstraint(fields=["technician", "kind", "issued_on"], name="certificate_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} until {self.valid_until}"


class Absence(Record):
    """A technician is away from `first_day` through `last_day`."""

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["technician", "first_day"]
        constraints = [in_order("first_day", "last_day", "absence_in_order")]

    def __str__(self) -> str:
        return f"{self.technician} {self.first_day} to {self.last_day}"
