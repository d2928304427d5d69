"""The plans of a fleet's parts, as the check of the whole wants them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date

from django.db.models import Prefetch

from planner.models import Equipment, Part
from scheduling.fleet.joined import PartNeed, Plans, Stay, Stock
from scheduling.models import Fleet, Visit, VisitJob
from scheduling.selectors.fleets.wanted import part_name

NEEDS = ("order__procedure__equipment_needs__equipment", "order__procedure__part_needs__part")


def joined_plans(fleet: Fleet) -> Plans:
    """Every stay and every part taken by the drafts (or published plans) of the fleet's runs, read from the rows."""
    visits = list(_visits(fleet))
    parts = Part.objects.prefetch_related("deliveries")
    return Plans(
        stays=[_stay(visit) for visit in visits],
        needs=_needs(visits),
        capacity=dict(Equipment.objects.values_list("name", "capacity")),
        stock={part_name(part): _stock(part) for part in parts},
    )


def _visits(fleet: Fleet) -> Iterable[Visit]:
    jobs = Prefetch("jobs", VisitJob.objects.select_related("order__procedure").prefetch_related(*NEEDS))
    rows = Visit.objects.filter(plan__run__fleet=fleet).select_related("plan__base", "turbine", "vehicle")
    rows = rows.defer("plan__left_out", "plan__parts")
    return rows.prefetch_related("people", jobs).order_by("starts_at", "pk")


def _stay(visit: Visit) -> Stay:
    pieces = [need.equipment.name for job in visit.jobs.all() for need in job.order.procedure.equipment_needs.all()]
    return Stay(
        base=visit.plan.base.name,
        turbine=str(visit.turbine),
        day=visit.day,
        starts_at=visit.starts_at,
        ends_at=visit.ends_at,
        people=tuple(person.name for person in visit.people.all()),
        vehicle=visit.vehicle.name if visit.vehicle else "",
        equipment=tuple(dict.fromkeys(pieces)),
    )


def _needs(visits: Iterable[Visit]) -> list[PartNeed]:
    """Once for each order, on the day of its first visit."""
    first: dict[int, tuple[date, VisitJob, str]] = {}
    for visit in visits:
        for job in visit.jobs.all():
            first.setdefault(job.order_id, (visit.day, job, visit.plan.base.name))
    taken: Counter[tuple[str, str, date]] = Counter()
    for day, job, base in first.values():
        for need in job.order.procedure.part_needs.all():
            taken[base, part_name(need.part), day] += need.quantity
    return [PartNeed(base, part, day, count) for (base, part, day), count in taken.items()]


def _stock(part: Part) -> Stock:
    return Stock(part.stock, tuple((d.expected_on, d.quantity) for d in part.deliveries.all() if d.received_on is None))
