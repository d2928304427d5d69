"""Addresses of the register under /api/v1/."""

from __future__ import annotations

from django.urls import path
from rest_framework.routers import BaseRouter

from planner.api import due, intervals, me, people, places, procedures, stock, teams, turbines

ROUTES = {
    "sites": places.SiteViewSet,
    "bases": places.BaseViewSet,
    "rule-sets": places.RuleSetViewSet,
    "memberships": places.MembershipViewSet,
    "turbine-types": turbines.TurbineTypeViewSet,
    "turbines": turbines.TurbineViewSet,
    "component-kinds": turbines.ComponentKindViewSet,
    "components": turbines.ComponentViewSet,
    "counter-readings": turbines.CounterReadingViewSet,
    "limit-sets": procedures.LimitSetViewSet,
    "procedures": procedures.ProcedureViewSet,
    "intervals": intervals.IntervalViewSet,
    "work-done": intervals.WorkDoneViewSet,
    "skills": people.SkillViewSet,
    "certificate-kinds": people.CertificateKindViewSet,
    "shift-patterns": people.ShiftPatternViewSet,
    "technicians": people.TechnicianViewSet,
    "certificates": people.CertificateViewSet,
    "absences": people.AbsenceViewSet,
    "pairs": teams.PairViewSet,
    "hire-periods": teams.HirePeriodViewSet,
    "on-calls": teams.OnCallViewSet,
    "call-outs": teams.CallOutViewSet,
    "equipment": stock.EquipmentViewSet,
    "bookings": stock.BookingViewSet,
    "vehicles": stock.VehicleViewSet,
    "lodgings": stock.LodgingViewSet,
    "parts": stock.PartViewSet,
    "deliveries": stock.DeliveryViewSet,
    "closures": stock.ClosureViewSet,
}
PATHS = [
    path("due/", due.DueView.as_view(), name="due"),
    path("gates/", due.GatesView.as_view(), name="gates"),
    path("certificates-due/", due.CertificatesDueView.as_view(), name="certificates-due"),
    path("me/", me.MeView.as_view(), name="me"),
    path("token/", me.TokenView.as_view(), name="token"),
]


def register(router: BaseRouter) -> None:
    """Put the register's tables on the router."""
    for prefix, viewset in ROUTES.items():
        router.register(prefix, viewset, basename=prefix)
