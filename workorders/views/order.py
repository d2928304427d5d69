"""One order: its moves, holds, steps, findings and story."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import Http404
from django.urls import reverse

from planner.clock import now_utc, today_at
from planner.errors import ConflictError, PlannerError
from planner.views.base import Page
from planner.views.forms import choice_in, day_or_none, number_in, text_in, whole_or_none, words_in
from planner.views.marks import mark
from workorders.choices import HoldKind, Severity
from workorders.models import Finding, Hold, Order
from workorders.selectors.orders import order_list_for
from workorders.services.findings import finding_raise_order, finding_record
from workorders.services.holds import hold_clear, hold_set
from workorders.services.moves import order_move
from workorders.services.results import ANSWERABLE, step_result_record
from workorders.views.order_parts import facts, finding_lines, hold_lines, move_lines, step_lines
from workorders.views.story import story


class OrderPage(Page):
    """An order of one of the caller's sites; anything else is a 404."""

    template = "workorders/order.html"
    name = "orders"
    actions: ClassVar[dict[str, str]] = {
        "move": "move",
        "hold": "set_hold",
        "clear": "clear_hold",
        "step": "answer_step",
        "finding": "record_finding",
        "follow": "raise_from_finding",
    }

    def order(self) -> Order:
        """The order of the address."""
        found = order_list_for(sites=self.caller.sites).filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404("There is no such order, or not for you.")
        return found

    def context(self) -> dict[str, Any]:
        """Everything about the order."""
        order = self.order()
        self.title = f"Order {order.number}"
        role = "planner" if self.user.is_superuser else self.caller.roles.get(order.turbine.site_id, "")
        zone = order.turbine.site.zone
        return {
            "order": order,
            "order_mark": mark(order.state),
            "on_hold": any(hold.cleared_on is None for hold in order.holds.all()),
            "facts": facts(order),
            "moves": move_lines(order.state, role),
            "holds": hold_lines(order),
            "steps": step_lines(order, zone),
            "findings": finding_lines(order),
            "story": story(order, zone),
            "may_plan": role in ("planner", "lead"),
            "answerable": order.state in ANSWERABLE,
            "may_record": role in ("planner", "lead", "technician"),
            "hold_kinds": HoldKind.choices,
            "severities": Severity.choices,
            "typed": self.request.POST,
            "today": today_at(zone, now_utc()).isoformat(),
        }

    def move(self) -> str:
        """One move of the lifecycle."""
        form, order = self.request.POST, self.order()
        if form.get("seen", order.state) != order.state:
            raise ConflictError(f"{order} is {order.state} by now, not {form['seen']}: look at it again.")
        order = order_move(
            order=order,
            name=form.get("name", ""),
            by=self.user,
            note=words_in(form, "note", "Note"),
            done_on=day_or_none(form, "done_on", "Done on"),
        )
        self.done(f"Order {order.number} is {order.state} now.")
        return self.here()

    def set_hold(self) -> str:
        """A new hold."""
        form = self.request.POST
        hold_set(
            order=self.order(),
            kind=choice_in(form, "kind", "Kind of hold", list(HoldKind.values)),
            reason=text_in(form, "reason", "Reason", most=160),
            by=self.user,
            expected_until=day_or_none(form, "expected_until", "Expected until"),
        )
        self.done("The hold is set.")
        return self.here()

    def clear_hold(self) -> str:
        """A hold is over."""
        hold_clear(hold=self._own(Hold, "hold"), by=self.user)
        self.done("The hold is cleared.")
        return self.here()

    def answer_step(self) -> str:
        """The answer to one step."""
        form, order = self.request.POST, self.order()
        step = order.procedure.steps.filter(pk=whole_or_none(form, "step", "Step") or 0).first()
        if step is None:
            raise PlannerError("That step is not of this order's procedure: choose one of the page.", field="step")
        value = number_in(form, "value", step.text) if step.kind == "reading" else None
        step_result_record(order=order, step=step, by=self.user, value=value, text=words_in(form, "text", step.text))
        self.done(f"Step {step.number} is recorded.")
        return self.here()

    def record_finding(self) -> str:
        """Something found up there."""
        form = self.request.POST
        finding_record(
            order=self.order(),
            severity=choice_in(form, "severity", "Severity", list(Severity.values)),
            text=text_in(form, "text", "What was found"),
            by=self.user,
            within_days=whole_or_none(form, "within_days", "Days"),
        )
        self.done("The finding is recorded.")
        return self.here()

    def raise_from_finding(self) -> str:
        """An order to mend what was found; once only."""
        made = finding_raise_order(finding=self._own(Finding, "finding"), by=self.user)
        self.done(f"Order {made.number} is raised from the finding.")
        return self.here()

    def here(self) -> str:
        """This page's own address."""
        return reverse("order", args=[self.kwargs["pk"]])

    def _own(self, model: Any, name: str) -> Any:
        """A row of this order that the form names."""
        pk = whole_or_none(self.request.POST, name, name.capitalize()) or 0
        row = model.objects.filter(order=self.order(), pk=pk).first()
        if row is None:
            raise PlannerError(f"That {name} is not of this order: choose one of the page.", field=name)
        return row
