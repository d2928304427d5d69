"""Plans, their visits, runs and rounds, with joins done."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import F, Prefetch, QuerySet

from planner.models import Base, Site
from scheduling.choices import PlanState
from scheduling.models import Plan, Round, RoundItem, Run, Visit, VisitJob

BULKY = ("problem", "best", "trace", "error")
"""Run fields of up to some megabytes that no list shows."""


def plan_current(*, base: Base, day: date | None = None) -> Plan | None:
    """The plan people go by on `day` (a local day of the base); without a day, the one published last.

    A plan that a newer one superseded still holds on the days before the newer one begins.
    """
    told = Plan.objects.filter(base=base, published_at__isnull=False).select_related("base", "run", "published_by")
    told = told.defer(*(f"run__{name}" for name in BULKY)).order_by("-published_at", "-pk")
    if day is None:
        return told.filter(state=PlanState.PUBLISHED).first()
    plan = told.filter(first_day__lte=day, last_day__gte=day).first()
    if plan is None or plan.state == PlanState.PUBLISHED:
        return plan
    later = told.filter(published_at__gt=plan.published_at, first_day__lte=day, last_day__gte=plan.first_day)
    return None if later.exists() else plan


def plan_list(*, sites: Iterable[Site]) -> QuerySet[Plan]:
    """Plans of the bases of these sites, newest first. A plan that only answers a what-if is not among them until published."""
    plans = Plan.objects.filter(base__in={site.base_id for site in sites}).select_related("base", "run", "published_by")
    plans = plans.exclude(state=PlanState.DRAFT, run__what_if__isnull=False)
    return plans.defer(*(f"run__{name}" for name in BULKY)).order_by("-first_day", "-pk")


def plan_newest_draft(plans: QuerySet[Plan]) -> Plan | None:
    """The draft of these made last, unless a newer plan was published since."""
    draft = plans.filter(state=PlanState.DRAFT).order_by("-pk").first()
    if draft is None or plans.filter(published_at__gt=draft.created_at).exists():
        return None
    return draft


def plan_visits(plan: Plan) -> QuerySet[Visit]:
    """The visits of a plan in the order of the day, with turbine, people and jobs; three queries whatever their number."""
    visits = plan.visits.select_related("turbine__site", "turbine__type", "vehicle", "sets_out_from", "sleeps_at")
    jobs = Prefetch("jobs", VisitJob.objects.select_related("order__procedure"))
    return visits.prefetch_related("people", jobs).order_by("day", "starts_at", "pk")


def run_list(*, sites: Iterable[Site]) -> QuerySet[Run]:
    """Runs of the bases of these sites, newest first, without problem, best plan and trace."""
    runs = Run.objects.filter(base__in={site.base_id for site in sites}).select_related("base", "asked_by", "plan", "round")
    return runs.defer(*BULKY).order_by("-asked_at", "-pk")


def round_current(base: Base) -> Round | None:
    """The newest round of a base."""
    rounds = Round.objects.filter(base=base).exclude(state=PlanState.SUPERSEDED).select_related("base", "run")
    return rounds.defer(*(f"run__{name}" for name in BULKY)).order_by("-created_at", "-pk").first()


def round_items(made: Round) -> QuerySet[RoundItem]:
    """The items of a round by week (left out last), with turbine, component and interval."""
    items = made.items.select_related("turbine__site", "component__kind", "interval__procedure")
    return items.order_by(
        F("week").asc(nulls_last=True), "turbine__site__code", "turbine__code", "interval__code", "due_on", "pk"
    )
