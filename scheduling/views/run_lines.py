"""How a run stands, ready to show; and the fragment of a page that looks again every two seconds while it solves."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.views import View

from planner.models import Base
from planner.rest.caller import PLANNERS, Caller, caller_of
from planner.views.formats import money, number, share
from planner.views.marks import mark
from scheduling.choices import OPEN
from scheduling.models import Run
from scheduling.selectors.plans import run_list


def run_line(run: Run, currency: str) -> dict[str, Any]:
    """State, value, bound, gap and seconds of a run."""
    limit_s = float(run.params.get("time_limit_s") or 0)
    return {
        "pk": run.pk,
        "kind": run.kind,
        "what_if": run.what_if_id,
        "mark": {**mark(run.state), "word": run.get_state_display()},
        "open": run.is_open,
        "stopping": run.is_open and run.stop_asked,
        "text": run.text,
        "value": money(run.value, currency),
        "bound": money(run.bound, currency),
        "gap": share(run.gap, 1),
        "seconds": number(run.seconds, "s"),
        "done_s": min(run.seconds or 0.0, limit_s),
        "limit_s": limit_s,
        "limit": number(limit_s, "s"),
    }


def newest_run(base: Base, caller: Caller, kind: str) -> Run | None:
    """The newest run of a kind of a base, what-ifs left aside."""
    return run_list(sites=caller.sites).filter(base=base, kind=kind, what_if=None).first()


def plans_all_of(caller: Caller, base: Base) -> bool:
    """Planner of every site of the base: what asking, stopping and publishing need."""
    return all(caller.has_at(site.pk, PLANNERS) for site in base.sites.all())


def currency_of(base: Base) -> str:
    """The currency of the base's sites; several are all named."""
    return "/".join(dict.fromkeys(base.sites.order_by("code").values_list("currency", flat=True)))


class RunProgress(LoginRequiredMixin, View):
    """The fragment. When the run has ended, it asks the page to load itself anew."""

    http_method_names = ["get"]

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        """How the run stands now."""
        caller = caller_of(request)
        run = run_list(sites=caller.sites).filter(pk=pk).first()
        if run is None:
            raise Http404("There is no such run, or not for you.")
        context = {
            "run": run_line(run, currency_of(run.base)),
            "base": run.base,
            "may_plan": plans_all_of(caller, run.base),
            "page": "what-if" if run.what_if_id else run.kind,
        }
        response = TemplateResponse(request, "scheduling/run.html", context)
        if run.state not in OPEN:
            response["HX-Refresh"] = "true"
        return response
