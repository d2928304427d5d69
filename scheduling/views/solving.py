"""What the pages Fortnight and Year share: starting a run and stopping it."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar

from django.conf import settings
from django.urls import reverse

from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Base
from planner.views.base import BasePage
from planner.views.forms import day_in, whole_or_none
from scheduling.models import Run
from scheduling.selectors.plans import run_list
from scheduling.services.runs import run_stop
from scheduling.tasks import run_ask
from scheduling.views.run_lines import newest_run, plans_all_of, run_line


class SolvingPage(BasePage):
    """A page that starts a kind of run, shows how it goes, and stops it."""

    kind = ""
    usual_days = 14
    actions: ClassVar[dict[str, str]] = {"solve": "solve", "stop": "stop"}

    def run_context(self, base: Base, currency: str) -> dict[str, Any]:
        """The newest run and the form that starts another."""
        run = newest_run(base, self.caller, self.kind)
        return {
            "run": run_line(run, currency) if run else None,
            "may_plan": plans_all_of(self.caller, base),
            "first_day": self.request.POST.get("first_day") or self.usual_first_day(base).isoformat(),
            "usual_days": self.request.POST.get("days") or self.usual_days,
            "seconds": self.request.POST.get("seconds") or settings.SOLVE_LIMIT_S,
            "page": self.kind,
        }

    def usual_first_day(self, base: Base) -> date:
        """What the form proposes: today at the base."""
        return today_at(base.zone)

    def solve(self) -> str:
        """Start a run; it shows on this page."""
        base, form = self.posted_base(), self.request.POST
        days, seconds = whole_or_none(form, "days", "Days"), whole_or_none(form, "seconds", "Seconds")
        run = run_ask(
            base=base,
            kind=self.kind,
            first_day=day_in(form, "first_day", "First day"),
            days=self.usual_days if days is None else days,
            by=self.user,
            params=None if seconds is None else {"time_limit_s": seconds},
        )
        self.done(f"Run {run.pk} is queued. It shows here while it solves.")
        return self.address(base)

    def stop(self) -> str:
        """Stop a run; it keeps its best plan."""
        run = run_stop(run=self.posted_run(), by=self.user)
        self.done(f"Run {run.pk} is asked to stop; it keeps the best it has.")
        return self.address(run.base)

    def posted_run(self) -> Run:
        """The run the form is about."""
        pk = whole_or_none(self.request.POST, "run", "Run") or 0
        run = run_list(sites=self.caller.sites).filter(pk=pk, kind=self.kind).first()
        if run is None:
            raise PlannerError("That run is not of this base: load the page again.", field="run")
        return run

    def address(self, base: Base) -> str:
        """This page for a base."""
        return f"{reverse(self.name)}?base={base.pk}"
