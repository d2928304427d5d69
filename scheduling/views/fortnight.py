"""Fortnight: the plan people go by, the newest draft, and the run that makes the next one."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import Http404

from planner.errors import PlannerError
from planner.models import Base
from planner.views.base import whole_reader
from planner.views.formats import moment, money, share, weekday
from planner.views.forms import whole_or_none
from planner.views.marks import mark
from scheduling.choices import USABLE, PlanState, RunKind
from scheduling.models import Plan, WhatIf
from scheduling.selectors.locks import HeldAt
from scheduling.selectors.plans import plan_current, plan_list, plan_newest_draft
from scheduling.services.publish import plan_publish
from scheduling.views.locking import Locking
from scheduling.views.mending import Mending
from scheduling.views.plan_lines import PART_WORDS, changed_lines, cost_lines, drawn, left_out_lines, own_visits, visit_line
from scheduling.views.questions import compare_address
from scheduling.views.run_lines import currency_of
from scheduling.views.solving import SolvingPage


class FortnightPage(Locking, Mending, SolvingPage):
    """One base's plans. ?plan= shows another than the newest."""

    template = "scheduling/fortnight.html"
    title = "Fortnight"
    name = "fortnight"
    kind = RunKind.FORTNIGHT.value
    actions: ClassVar[dict[str, str]] = {
        **SolvingPage.actions,
        **Locking.lock_actions,
        **Mending.mend_actions,
        "publish": "publish",
    }

    def base_context(self, base: Base) -> dict[str, Any]:
        """The shown plan, the other one, and the run."""
        currency = currency_of(base)
        plans = plan_list(sites=self.caller.sites).filter(base=base)
        current, draft = plan_current(base=base), plan_newest_draft(plans)
        shown = self._shown(plans, current, draft)
        running, held = self.run_context(base, currency), self.held_context(base)
        return {
            **running,
            **held,
            **self.mend_context(base),
            "choices": [_choice(plan, shown, base) for plan in _different(draft, current, shown)],
            "plan": self._plan_context(shown, base, currency, held["held"]) if shown else None,
            "against": _against(shown, current) if running["may_plan"] else "",
        }

    def publish(self) -> str:
        """Make the shown draft the plan people go by."""
        pk = whole_or_none(self.request.POST, "plan", "Plan") or 0
        plan = plan_list(sites=self.caller.sites).filter(pk=pk).first()
        if plan is None:
            raise PlannerError("That plan is not of your bases: load the page again.", field="plan")
        plan_publish(plan=plan, by=self.user)
        self.done(f"Plan {plan.pk} is published; its orders are slotted.")
        return self.address(plan.base)

    def _shown(self, plans: Any, current: Plan | None, draft: Plan | None) -> Plan | None:
        pk = self.read(whole_reader("plan"), "plan")
        if pk is not None:
            found = plans.filter(pk=pk).first()
            if found is None:
                raise Http404("There is no such plan, or not for you.")
            return found  # type: ignore[no-any-return]
        return draft or current

    def _plan_context(self, plan: Plan, base: Base, currency: str, held: HeldAt) -> dict[str, Any]:
        sites = self.sites_of(base)
        visits = own_visits(plan, sites)
        return {
            "pk": plan.pk,
            "mark": mark(plan.state),
            "what_if": WhatIf.objects.only("pk", "name", "told").filter(runs=plan.run_id).first()
            if plan.run.what_if_id
            else None,
            "days": f"{weekday(plan.first_day)} to {weekday(plan.last_day)}",
            "published": moment(plan.published_at, base.zone) if plan.published_at else "",
            "published_by": plan.published_by,
            "draft": plan.state == PlanState.DRAFT and plan.run.state in USABLE,
            "drawing": drawn(visits, base.zone, held),
            "visits": [visit_line(visit, base.zone, held) for visit in visits],
            "may_hold": plan.state != PlanState.SUPERSEDED,
            "changes": changed_lines(plan, sites),
            "left_out": left_out_lines(plan, sites),
            "hidden": plan.visits.count() - len(visits),
            "parts": cost_lines(plan.parts, currency, PART_WORDS),
            "value": money(plan.value, currency),
            "bound": money(plan.bound, currency),
            "gap": share(plan.run.gap, 1),
            "told": plan.run.text,
        }


def _against(shown: Plan | None, current: Plan | None) -> str:
    """Where the shown plan is compared with the one people go by; "" where it is that one."""
    if shown is None or current is None or shown.pk == current.pk:
        return ""
    return compare_address(current, shown)


def _different(*plans: Plan | None) -> list[Plan]:
    return list({plan.pk: plan for plan in plans if plan is not None}.values())


def _choice(plan: Plan, shown: Plan | None, base: Base) -> dict[str, Any]:
    return {
        "query": f"base={base.pk}&plan={plan.pk}",
        "mark": mark(plan.state),
        "days": f"{weekday(plan.first_day)} to {weekday(plan.last_day)}",
        "number": plan.pk,
        "current": shown is not None and plan.pk == shown.pk,
    }
