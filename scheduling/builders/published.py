"""The visits people were told of, as a fortnight's problem counts them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from planner.models import Base
from scheduling.builders import money
from scheduling.builders.horizon import Horizon
from scheduling.choices import PlanState
from scheduling.fortnight.problem import PublishedVisit
from scheduling.models import Plan, Visit


@dataclass(frozen=True)
class Told:
    """Published visits, an order's numbered from the first one inside the horizon, and what that number was in the plan."""

    visits: tuple[PublishedVisit, ...]
    first: dict[str, int]


def _beds(visit: Visit) -> tuple[str, str]:
    """Names of the lodgings where the visit's team sets out from and sleeps; "" for the base."""
    return (visit.sets_out_from.name if visit.sets_out_from else "", visit.sleeps_at.name if visit.sleeps_at else "")


def published_of(base: Base, horizon: Horizon, orders: Collection[str]) -> Told:
    """Visits of the published plans in the horizon that are for these orders (numbers).

    An order's visits before the horizon are done or missed; the work that is left makes visits of its own, counted from 0.
    """
    plans = Plan.objects.filter(base=base, state=PlanState.PUBLISHED, last_day__gte=horizon.first_day)
    found = []
    for plan in plans.prefetch_related("visits__jobs__order", "visits__people", "visits__sets_out_from", "visits__sleeps_at"):
        for visit in plan.visits.all():
            day = horizon.index_of(visit.day)
            slot = horizon.slot_of(visit.starts_at, day)
            names = tuple(person.name for person in visit.people.all())
            told = visit.told_at is not None
            change, crew = money.change_cents(base, day, told), money.crew_cents(base, told)
            for job in visit.jobs.all():
                if 0 <= day < horizon.days and job.order.number in orders:
                    known = PublishedVisit(job.order.number, job.number, day, slot, names, change, crew, *_beds(visit))
                    found.append(known)
    first: dict[str, int] = {}
    for one in found:
        first[one.order] = min(one.visit, first.get(one.order, one.visit))
    return Told(tuple(replace(one, visit=one.visit - first[one.order]) for one in found), first)
