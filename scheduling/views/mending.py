"""Mending the published plan from the pages Today and Fortnight: somebody is ill, or something else changed."""

from __future__ import annotations

from typing import Any, ClassVar

from django.urls import reverse

from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Base, Technician
from planner.views.base import BasePage
from planner.views.formats import weekday
from planner.views.forms import day_in, day_or_none, whole_or_none, words_in
from scheduling.services.repairs import Ill
from scheduling.tasks import repair_ask
from scheduling.views.run_lines import plans_all_of


class Mending(BasePage):
    """A page from which planners ask for a repair."""

    mend_actions: ClassVar[dict[str, str]] = {"mend": "mend"}

    def mend_context(self, base: Base) -> dict[str, Any]:
        """Who may be ill, for planners of the whole base; nobody for others."""
        may = plans_all_of(self.caller, base)
        people = list(Technician.objects.filter(base=base, active=True).order_by("name")) if may else []
        return {"may_mend": may, "mend_people": people, "mend_day": today_at(base.zone).isoformat()}

    def mend(self) -> str:
        """Record who is away, and ask for the plan to be mended; the run shows on the Fortnight page."""
        base, form = self.posted_base(), self.request.POST
        pk, ill = whole_or_none(form, "technician", "Person"), None
        if pk is not None:
            who = Technician.objects.filter(pk=pk, base=base, active=True).first()
            if who is None:
                raise PlannerError("That person is not of this base: load the page again.", field="technician")
            first = day_in(form, "first_day", "First day away")
            last = day_or_none(form, "last_day", "Last day away") or first
            ill = Ill(who, first, last, words_in(form, "reason", "Reason", most=80))
        run = repair_ask(base=base, by=self.user, ill=ill)
        away = f"{ill.technician.name} is away from {weekday(ill.first_day)} to {weekday(ill.last_day)}. " if ill else ""
        self.done(f"{away}Run {run.pk} mends the plan from {weekday(run.first_day)} on; publish what it finds below.")
        return f"{reverse('fortnight')}?base={base.pk}"
