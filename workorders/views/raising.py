"""Raising orders from due work, asked from the Due page."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.views import View

from planner.errors import PlannerError
from planner.rest.caller import LEADS, caller_of
from planner.services.access import require_role
from workorders.services.orders import RaiseReport, orders_raise_from_due


class RaiseOrders(LoginRequiredMixin, View):
    """By POST only. Asked twice, it raises nothing new. Leads back to the Due page with what was done."""

    http_method_names = ["post"]

    def post(self, request: HttpRequest) -> HttpResponse:
        """Raise what falls due at one site within the coming 60 days, or is past its date."""
        site = next((one for one in caller_of(request).sites if str(one.pk) == request.POST.get("site", "")), None)
        if site is None:
            raise Http404("There is no such site, or not for you.")
        try:
            require_role(user=request.user, site=site, roles=LEADS)
            report = orders_raise_from_due(site=site, by=request.user)
            messages.success(request, _said(site.name, report))
        except PlannerError as error:
            messages.error(request, error.message)
        return HttpResponseRedirect(reverse("due"))


def _said(site: str, report: RaiseReport) -> str:
    raised = len(report.raised)
    more = f" {report.already} had one already." if report.already else ""
    if report.withdrawn:
        more += f" {report.withdrawn} were withdrawn before and stay so."
    if not raised:
        return f"{site}: nothing new to raise.{more}"
    return f"{site}: {raised} order{'' if raised == 1 else 's'} raised.{more} They stand under Orders."
