"""What would let an order in, where else a visit could stand, and two plans side by side: a page each, or a part of Fortnight.

Asked with htmx they answer with their part only, which looks again while the question is open; without it they are pages.
"""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views import View

from planner.errors import PlannerError
from planner.rest.caller import Caller, caller_of
from planner.views.base import frame
from planner.views.formats import money, number
from scheduling.choices import QuestionKind, QuestionState
from scheduling.models import Plan, PlanQuestion, Visit
from scheduling.selectors.plans import plan_list
from scheduling.selectors.questions import plans_compared, question_of
from scheduling.tasks import question_ask
from scheduling.views.plan_lines import PART_WORDS
from scheduling.views.run_lines import currency_of, plans_all_of

PART = "scheduling/question.html"
PAGE = "scheduling/question_page.html"


class PlanView(LoginRequiredMixin, View):
    """A view of one plan, for planners of every site of its base; for everybody else there is nothing here."""

    title = ""

    @property
    def caller(self) -> Caller:
        """Who asks."""
        return caller_of(self.request)

    def plan_of(self, pk: int) -> Plan:
        """The plan."""
        plan = plan_list(sites=self.caller.sites).filter(pk=pk).first()
        if plan is None or not plans_all_of(self.caller, plan.base):
            raise Http404("There is no such plan, or not for you.")
        return plan

    def drawn(self, part: str, plan: Plan, context: dict[str, Any], status: int = 200) -> HttpResponse:
        """The part alone for htmx, else the part in a page."""
        if self.request.headers.get("HX-Request"):
            # A sentence that refuses is still to be shown in its place, and htmx shows answers of 200 only.
            return TemplateResponse(self.request, part, {**context, "plan_pk": plan.pk}, status=200)
        more = {**context, "part": part, "plan_pk": plan.pk, "base": plan.base, "current": "fortnight"}
        return TemplateResponse(self.request, PAGE, frame(self.request, self.title, **more), status=status)


class QuestionView(PlanView):
    """GET shows the question as it stands, POST asks it."""

    kind = ""

    def get(self, request: HttpRequest, pk: int, key: str) -> HttpResponse:
        """As it stands."""
        plan = self.plan_of(pk)
        order, visit = self.about(plan, key)
        question = question_of(plan=plan, kind=self.kind, order=order, visit=visit)
        return self.drawn(PART, plan, self.context(plan, question, order))

    def post(self, request: HttpRequest, pk: int, key: str) -> HttpResponse:
        """Ask it; a worker works it out."""
        plan = self.plan_of(pk)
        order, visit = self.about(plan, key)
        try:
            question = question_ask(plan=plan, kind=self.kind, order=order, visit=visit, by=request.user)  # type: ignore[arg-type]
        except PlannerError as error:
            return self.drawn(PART, plan, {**self.context(plan, None, order), "refused": error.message}, error.status)
        if not request.headers.get("HX-Request"):
            return HttpResponseRedirect(request.path)
        return self.drawn(PART, plan, self.context(plan, question, order))

    def about(self, plan: Plan, key: str) -> tuple[str, int]:
        """Order number and visit that the address names."""
        raise NotImplementedError

    def context(self, plan: Plan, question: PlanQuestion | None, order: str) -> dict[str, Any]:
        """What the part shows."""
        here = {"address": self.request.path, "order": order, "question": question, "ask_words": self.title}
        if question is None or question.state != QuestionState.ANSWERED:
            return here
        currency = question.answer.get("currency", "")
        return {**here, **self.answered(question.answer, currency)}

    def answered(self, answer: dict[str, Any], currency: str) -> dict[str, Any]:
        """The answer, ready to show."""
        raise NotImplementedError


class WaysIn(QuestionView):
    """What would let a left-out order in."""

    title = "What would let it in?"
    kind = QuestionKind.WAYS_IN.value

    def about(self, plan: Plan, key: str) -> tuple[str, int]:
        """The address names the order."""
        if key not in {row["order"] for row in plan.left_out}:
            raise Http404("That plan leaves out no such order.")
        return key, 0

    def answered(self, answer: dict[str, Any], currency: str) -> dict[str, Any]:
        """Each way with its cost in words."""
        ways = [{**way, "money": _change(way["cost"], currency)} for way in answer.get("ways", ())]
        return {"ways": ways, "tried": answer.get("tried", ()), "asked_ways": True}


class VisitMoves(QuestionView):
    """What a visit costs, and what moving it to each other day would cost."""

    title = "What does it cost, where else?"
    kind = QuestionKind.MOVES.value

    def about(self, plan: Plan, key: str) -> tuple[str, int]:
        """The address names the visit's row; its first order stands for it."""
        visit = Visit.objects.filter(plan=plan, pk=int(key)).prefetch_related("jobs__order").first() if key.isdigit() else None
        jobs = sorted(visit.jobs.all(), key=lambda job: job.order.number) if visit else []
        if not jobs:
            raise Http404("That plan has no such visit.")
        return jobs[0].order.number, jobs[0].number

    def answered(self, answer: dict[str, Any], currency: str) -> dict[str, Any]:
        """The cost here by part, and each other day."""
        moves = [{**move, "money": _change(move["cost"], currency)} for move in answer.get("moves", ())]
        parts = [{"name": name, "amount": money(amount, currency)} for name, amount in answer.get("parts", {}).items()]
        return {"moves": moves, "here": answer.get("here", ""), "parts": parts, "asked_moves": True}


def _change(amount: float | None, currency: str) -> str:
    """A change of cost with its sign in words."""
    if amount is None:
        return "not possible"
    return f"{money(abs(amount), currency)} {'less' if amount < 0 else 'more'}"


class ComparePlans(PlanView):
    """From one plan to another of the same base."""

    title = "Two plans side by side"

    def get(self, request: HttpRequest, pk: int, other: int) -> HttpResponse:
        """What changed, what it bought, and what differs between the problems."""
        before, after = self.plan_of(pk), self.plan_of(other)
        try:
            found = plans_compared(before=before, after=after)
        except PlannerError as error:
            return self.drawn("scheduling/compared.html", after, {"refused": error.message}, error.status)
        currency = currency_of(after.base)
        rows = [
            {
                "name": name,
                "before": money(found.parts_before.get(name, 0) / 100, currency),
                "after": money(found.parts_after.get(name, 0) / 100, currency),
                "change": _change(change / 100, currency) if change else "same",
                "what": PART_WORDS.get(name, ""),
            }
            for name, change in sorted(found.parts.items(), key=lambda part: -abs(part[1]))
            if change or found.parts_after.get(name)
        ]
        context = {"found": found, "rows": rows, "before": before, "after": after, "whole": _change(found.value / 100, currency)}
        energy = {"mwh_before": number(found.lost_mwh_before, "MWh", 1), "mwh_after": number(found.lost_mwh_after, "MWh", 1)}
        return self.drawn("scheduling/compared.html", after, {**context, **energy})


def compare_address(before: Plan, after: Plan) -> str:
    """Where two plans are compared."""
    return reverse("plans-compared", args=[before.pk, after.pk])
