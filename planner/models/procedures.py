"""Procedures and their steps."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from planner.choices import StepKind, WorkKind
from planner.models.base import Record, above, at_least
from planner.models.calendars import Equipment, Part
from planner.models.limits import LimitSet
from planner.models.people import Skill


class Procedure(Record):
    """How a kind of work is done."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=WorkKind.choices)
    effort_person_h = models.FloatField()
    team_min = models.PositiveSmallIntegerField(default=2)
    team_max = models.PositiveSmallIntegerField(default=3)
    pack_min = models.PositiveSmallIntegerField(default=15, help_text="Packing up before the way down.")
    limit_set = models.ForeignKey(LimitSet, on_delete=models.PROTECT, related_name="procedures")
    may_span_visits = models.BooleanField(default=False)
    visit_least_h = models.FloatField(default=2, help_text="A visit shorter than this is not worth the way.")
    stopped_between = models.BooleanField(default=False, help_text="The turbine stays stopped between two visits.")
    stops_feeder = models.BooleanField(default=False, help_text="Isolation stops every turbine of the feeder.")
    ride_along = models.BooleanField(default=True, help_text="May share a visit with other orders of the turbine.")
    hand_over_cost = models.FloatField(
        default=0, help_text="For each later visit whose team holds nobody of the visit before: the work is explained anew."
    )
    isolations = models.TextField(blank=True, help_text="One isolation a line, in the order of applying.")
    cautions = models.TextField(blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            above("effort_person_h", 0, "procedure_effort"),
            at_least("team_min", 2, "procedure_team_of_two"),
            models.CheckConstraint(
                condition=Q(team_max__gte=F("team_min")),
                name="procedure_team_range",
                violation_error_message="team_max lies below team_min: give a range such as 2 to 3.",
            ),
            above("visit_least_h", 0, "procedure_visit_least"),
            at_least("hand_over_cost", 0, "procedure_hand_over_cost"),
        ]

    def __str__(self) -> str:
        return self.name


class Step(Record):
    """One step of a procedure."""

    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="steps")
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=StepKind.choices)
    text = models.CharField(max_length=240)
    quantity = models.CharField(max_length=40, blank=True, help_text="What a reading measures.")
    unit = models.CharField(max_length=16, blank=True)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    hold_point = models.BooleanField(default=False, help_text="Nobody goes on without it.")

    class Meta:
        ordering = ["procedure", "number"]
        constraints = [
            models.UniqueConstraint(fields=["procedure", "number"], name="step_number_once"),
            models.CheckConstraint(
                condition=~Q(kind="reading") | ~Q(unit=""),
                name="step_reading_has_unit",
                violation_error_message="A reading needs its unit (1 for a bare number).",
            ),
            models.CheckConstraint(
                condition=Q(low__isnull=True) | Q(high__isnull=True) | Q(high__gte=F("low")),
                name="step_band",
                violation_error_message="high lies below low: give the band from low to high.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}. {self.text}"


class ProcedureSkill(Record):
    """`count` people of the team hold the skill at `level` or above."""

    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="skill_needs")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT)
    level = models.PositiveSmallIntegerField(default=1)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["procedure", "skill", "level"]
        constraints = [
            models.UniqueConstraint(fields=["procedure", "skill", "level"], name="procedure_skill_once"),
            at_least("count", 1, "procedure_skill_count"),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.skill} {self.level}"


class ProcedurePart(Record):
    """Parts that one order of the procedure uses."""

    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="part_needs")
    part = models.ForeignKey(Part, on_delete=models.PROTECT)
    quantity = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["procedure", "part"]
        constraints = [
            models.UniqueConstraint(fields=["procedure", "part"], name="procedure_part_once"),
            at_least("quantity", 1, "procedure_part_quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.part}"


class ProcedureEquipment(Record):
    """Shared equipment that every visit of the procedure uses."""

    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="equipment_needs")
    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT)

    class Meta:
        ordering = ["procedure", "equipment"]
        constraints = [models.UniqueConstraint(fields=["procedure", "equipment"], name="procedure_equipment_once")]

    def __str__(self) -> str:
        return str(self.equipment)
