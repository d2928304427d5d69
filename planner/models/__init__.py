"""The register: what stands, what it needs, who can do it."""

from planner.models.calendars import Closure, Equipment, EquipmentBooking, Lodging, Part, PartDelivery, Vehicle
from planner.models.intervals import CounterReading, Interval, WorkDone
from planner.models.limits import Limit, LimitSet
from planner.models.people import (
    Absence,
    Certificate,
    CertificateKind,
    HeldSkill,
    Membership,
    ShiftPattern,
    Skill,
    Technician,
)
from planner.models.procedures import (
    Procedure,
    ProcedureEquipment,
    ProcedurePart,
    ProcedureSkill,
    Step,
)
from planner.models.sites import Base, RuleSet, Site
from planner.models.teams import CallOut, HirePeriod, OnCall, Pair
from planner.models.turbines import Component, ComponentKind, Turbine, TurbineType

__all__ = [
    "Absence",
    "Base",
    "CallOut",
    "Certificate",
    "CertificateKind",
    "Closure",
    "Component",
    "ComponentKind",
    "CounterReading",
    "Equipment",
    "EquipmentBooking",
    "HeldSkill",
    "HirePeriod",
    "Interval",
    "Limit",
    "LimitSet",
    "Lodging",
    "Membership",
    "OnCall",
    "Pair",
    "Part",
    "PartDelivery",
    "Procedure",
    "ProcedureEquipment",
    "ProcedurePart",
    "ProcedureSkill",
    "RuleSet",
    "ShiftPattern",
    "Site",
    "Skill",
    "Step",
    "Technician",
    "Turbine",
    "TurbineType",
    "Vehicle",
    "WorkDone",
]
