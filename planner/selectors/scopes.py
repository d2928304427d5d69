"""To whom each row of the register belongs."""

from __future__ import annotations

from django.contrib.auth import get_user_model

from planner import models
from planner.selectors.ownership import Memberships, OfBase, OfSite, Shared, Sites, Users, scope_set

scope_set(Sites(), models.Site)
scope_set(Memberships(), models.Membership)
scope_set(Users(), get_user_model())
scope_set(OfBase("pk", shared=True), models.Base)
scope_set(OfBase("base", shared=True), models.Equipment)
scope_set(OfBase("equipment__base", shared=True), models.EquipmentBooking)
scope_set(OfBase("base"), models.Technician, models.Vehicle, models.Lodging)
scope_set(OfBase("technician__base"), models.Certificate, models.Absence, models.HeldSkill)
scope_set(OfBase("technician__base"), models.HirePeriod, models.OnCall, models.CallOut)
scope_set(OfBase("first__base"), models.Pair)
scope_set(OfSite("site"), models.Turbine, models.Closure)
scope_set(OfSite("turbine__site"), models.Component, models.CounterReading, models.WorkDone)
scope_set(OfSite("turbine__site", optional=True), models.Interval)
scope_set(
    Shared(),
    models.RuleSet,
    models.TurbineType,
    models.ComponentKind,
    models.Skill,
    models.CertificateKind,
    models.ShiftPattern,
    models.Part,
    models.PartDelivery,
    models.LimitSet,
    models.Limit,
    models.Procedure,
    models.Step,
    models.ProcedureSkill,
    models.ProcedurePart,
    models.ProcedureEquipment,
)
