"""Fleet: the fortnights of many bases begun together, how each part stands, and what came of them as one."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.http import Http404
from django.urls import reverse

from planner.clock import now_utc, today_at
from planner.errors import PlannerError
from planner.models import Base
from planner.views.base import NO_SITE, Page, whole_reader
from planner.views.forms import day_in, whole_or_none
from scheduling.models import Fleet
from scheduling.selectors.fleets import bases_planned, fleet_list
from scheduling.services.fleets import fleet_stop
from scheduling.tasks import fleet_ask
from scheduling.views.fleet_lines import fleet_context, fleet_line

SHOWN = 10
USUAL_DAYS = 14


class FleetPage(Page):
    """The newest fleet, or the one named by ?fleet=."""

    template = "scheduling/fleet.html"
    title = "Fleet"
    name = "fleet"
    actions: ClassVar[dict[str, str]] = {"begin": "begin", "stop": "stop"}

    def context(self) -> dict[str, Any]:
        """The form, the chosen fleet and the earlier ones."""
        rows = fleet_list(caller=self.caller)
        newest = list(rows.defer("outcome")[:SHOWN])
        chosen = self._chosen(newest)
        bases = list(bases_planned(self.user))
        shown = fleet_context(chosen, self.user) if chosen else {"fleet": None}
        return {
            "sites": self.caller.is_member,
            "no_site": NO_SITE,
            "planned": [{"pk": base.pk, "name": base.name, "checked": self._asked_for(base)} for base in bases],
            "form": self._form(bases),
            "earlier": [{**fleet_line(one), "current": chosen is not None and one.pk == chosen.pk} for one in newest],
            **shown,
        }

    def _chosen(self, newest: list[Fleet]) -> Fleet | None:
        pk = self.read(whole_reader("fleet"), "fleet")
        if pk is None:
            return newest[0] if newest else None
        found = fleet_list(caller=self.caller).filter(pk=pk).first()
        if found is None:
            raise Http404("There is no such fleet, or not for you.")
        return found

    def _form(self, bases: list[Base]) -> dict[str, Any]:
        posted = self.request.POST
        today = today_at(bases[0].zone) if bases else now_utc().date()
        return {
            "first_day": posted.get("first_day") or today.isoformat(),
            "days": posted.get("days") or USUAL_DAYS,
            "seconds": posted.get("seconds") or settings.SOLVE_LIMIT_S,
        }

    def _asked_for(self, base: Base) -> bool:
        """Every base is asked for until somebody takes one out."""
        asked = self.request.POST.getlist("bases")
        return not asked or str(base.pk) in asked

    def begin(self) -> str:
        """Begin a fleet over the bases ticked."""
        form = self.request.POST
        days, seconds = whole_or_none(form, "days", "Days"), whole_or_none(form, "seconds", "Seconds")
        fleet = fleet_ask(
            bases=self._ticked(),
            first_day=day_in(form, "first_day", "First day"),
            days=USUAL_DAYS if days is None else days,
            by=self.user,
            params=None if seconds is None else {"time_limit_s": seconds},
        )
        self.done(f"Fleet {fleet.pk} is queued, {fleet.parts.count()} parts. They show here while they are solved.")
        return self._address(fleet)

    def _ticked(self) -> list[Base]:
        asked = set(self.request.POST.getlist("bases"))
        known = {str(base.pk): base for base in bases_planned(self.user)}
        if not asked:
            raise PlannerError("No base is ticked: tick at least one.", field="bases")
        if not asked <= set(known):
            raise PlannerError("A base of the form is not one you plan: load the page again.", field="bases")
        return [known[pk] for pk in sorted(asked)]

    def stop(self) -> str:
        """Stop every part still to come; each keeps its best plan."""
        pk = whole_or_none(self.request.POST, "fleet", "Fleet") or 0
        fleet = fleet_list(caller=self.caller).filter(pk=pk).first()
        if fleet is None:
            raise PlannerError("That fleet is not of your bases: load the page again.", field="fleet")
        fleet_stop(fleet=fleet, by=self.user)
        self.done(f"Fleet {fleet.pk} is asked to stop; its parts keep the best they have.")
        return self._address(fleet)

    def _address(self, fleet: Fleet) -> str:
        return f"{reverse(self.name)}?fleet={fleet.pk}"
