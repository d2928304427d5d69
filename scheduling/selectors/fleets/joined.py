"""The plans of a fleet's parts, as the check of the whole wants them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from planner.models import Equipment, Part
from scheduling.fleet.joined import PartNeed, Plans, Stay, Stock
from scheduling.models import Fleet, Visit, VisitJob
from scheduling.selectors.fleets.wanted import part_name

Names = dict[int, tuple[str, ...]]


def joined_plans(fleet: Fleet) -> Plans:
    """Every stay and every part taken by the drafts (or published plans) of the fleet's runs, read from the rows.

    Seven queries without lists of ids, which a fleet of some hundred bases would make too long for a database.
    """
    parts = {part.pk: part for part in Part.objects.prefetch_related("deliveries")}
    return Plans(
        stays=_stays(fleet),
        needs=_needs(fleet, parts),
        capacity=dict(Equipment.objects.values_list("name", "capacity")),
        stock={part_name(part): _stock(part) for part in parts.values()},
    )


def _stays(fleet: Fleet) -> list[Stay]:
    people, pieces = _people(fleet), _pieces(fleet)
    rows = Visit.objects.filter(plan__run__fleet=fleet).order_by("starts_at", "pk")
    facts = rows.values_list(
        "pk", "plan__base__name", "turbine__site__code", "turbine__code", "day", "starts_at", "ends_at", "vehicle__name"
    )
    return [
        Stay(base, f"{site} {turbine}", day, start, end, people.get(pk, ()), vehicle or "", pieces.get(pk, ()))
        for pk, base, site, turbine, day, start, end, vehicle in facts
    ]


def _people(fleet: Fleet) -> Names:
    rows = Visit.people.through.objects.filter(visit__plan__run__fleet=fleet)
    return _by_visit(rows.order_by("pk").values_list("visit_id", "technician__name"))


def _pieces(fleet: Fleet) -> Names:
    name = "order__procedure__equipment_needs__equipment__name"
    return _by_visit(_jobs(fleet).filter(**{f"{name}__isnull": False}).values_list("visit_id", name))


def _by_visit(rows: Iterable[tuple[int, str]]) -> Names:
    """Names by visit, each once."""
    found: dict[int, dict[str, None]] = defaultdict(dict)
    for visit, name in rows:
        found[visit][name] = None
    return {visit: tuple(names) for visit, names in found.items()}


def _jobs(fleet: Fleet) -> QuerySet[VisitJob]:
    return VisitJob.objects.filter(visit__plan__run__fleet=fleet).order_by("visit__day", "pk")


def _needs(fleet: Fleet, parts: dict[int, Part]) -> list[PartNeed]:
    """Once for each order, on the day of its first visit."""
    need = "order__procedure__part_needs"
    rows = _jobs(fleet).filter(**{f"{need}__isnull": False})
    seen: set[tuple[int, int]] = set()
    taken: Counter[tuple[str, str, date]] = Counter()
    facts = rows.values_list("order_id", f"{need}__part", f"{need}__quantity", "visit__day", "visit__plan__base__name")
    for order, part, count, day, base in facts:
        if (order, part) not in seen:
            seen.add((order, part))
            taken[base, part_name(parts[part]), day] += count
    return [PartNeed(base, part, day, count) for (base, part, day), count in taken.items()]


def _stock(part: Part) -> Stock:
    return Stock(part.stock, tuple((d.expected_on, d.quantity) for d in part.deliveries.all() if d.received_on is None))
