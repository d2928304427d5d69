"""How a fleet stands, ready to show; and the fragment of its page that looks again while parts are to come."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views import View

from planner.models import Base
from planner.rest.caller import caller_of
from planner.views.formats import money, share, weekday
from planner.views.marks import mark
from scheduling.models import Fleet
from scheduling.selectors.fleets import PartRow, Sums, bases_planned, fleet_list, fleet_parts, sums_of


def fleet_line(fleet: Fleet) -> dict[str, Any]:
    """A fleet in a list."""
    return {
        "pk": fleet.pk,
        "mark": {**mark(fleet.state), "word": fleet.get_state_display()},
        "open": fleet.is_open,
        "stopping": fleet.is_open and fleet.stop_asked,
        "first_day": weekday(fleet.first_day),
        "days": fleet.days,
        "by": fleet.asked_by,
        "text": fleet.text,
    }


def fleet_context(fleet: Fleet, user: Any) -> dict[str, Any]:
    """A fleet with its sums and parts as they are now. `may_stop` for whoever plans all its bases."""
    parts = fleet_parts(fleet)
    planned = set(bases_planned(user).values_list("pk", flat=True))
    return {
        "fleet": {
            **fleet_line(fleet),
            **_sums(sums_of(parts)),
            "parts": [_part(row) for row in parts],
            "bare": [_part(row) for row in parts if row.without_plan],
            "clashes": fleet.clashes,
            "joined_by": [{"bases": one["bases"], "by": ", ".join(one["by"])} for one in fleet.joined_by],
            "may_stop": fleet.is_open and not fleet.stop_asked and all(row.run.base_id in planned for row in parts),
        }
    }


def _sums(sums: Sums) -> dict[str, Any]:
    return {
        "count": sums.parts,
        "ended": sums.ended,
        "without": sums.without_plan,
        "planned": sums.planned,
        "left_out": sums.left_out,
        "money": [
            {
                "currency": one.currency,
                "value": money(one.value, one.currency),
                "bound": money(one.bound, one.currency),
                "gap": share(one.gap, 1),
            }
            for one in sums.money
        ],
    }


def _part(row: PartRow) -> dict[str, Any]:
    run = row.run
    return {
        "base": run.base.name,
        "address": fortnight_of(run.base, getattr(run, "plan", None)),
        "mark": {**mark(run.state), "word": run.get_state_display()},
        "value": money(run.value, row.currency) if run.value is not None else "",
        "gap": share(run.gap, 1) if run.gap is not None else "",
        "planned": "" if row.planned is None else row.planned,
        "left_out": "" if row.left_out is None else row.left_out,
        "after": run.follows.base.name if run.follows and run.is_open else "",
        "text": run.text,
    }


def fortnight_of(base: Base, plan: Any) -> str:
    """The base's Fortnight page, at the part's plan where there is one."""
    return f"{reverse('fortnight')}?base={base.pk}" + (f"&plan={plan.pk}" if plan is not None else "")


class FleetProgress(LoginRequiredMixin, View):
    """The fragment. When the fleet has ended, it asks the page to load itself anew."""

    http_method_names = ["get"]

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        """How the parts stand now."""
        fleet = fleet_list(caller=caller_of(request)).filter(pk=pk).first()
        if fleet is None:
            raise Http404("There is no such fleet, or not for you.")
        response = TemplateResponse(request, "scheduling/fleet_parts.html", fleet_context(fleet, request.user))
        if not fleet.is_open:
            response["HX-Refresh"] = "true"
        return response
