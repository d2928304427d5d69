"""What bases want of equipment and parts that others may want too."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from django.db.models import Count, F, Q, QuerySet, Sum

from planner.models import Base, Equipment, Part
from scheduling.fleet.groups import Wanted
from workorders.choices import TO_PLAN
from workorders.models import Order

Wants = dict[int, dict[str, int]]


def wanted_by(bases: Iterable[Base], last_day: date) -> list[Wanted]:
    """What the orders that may be planned until `last_day` could want at most, for each thing that some base wants.

    A piece of equipment: at most one visit of each order at a time. A part: what all the orders take. Orders that will be
    left out count too, so that bases are rather planned one after the other than apart. Four queries. People and vehicles
    have one base each; nobody can be wanted by two.
    """
    pks = [base.pk for base in bases]
    pieces = _wants(pks, last_day, "procedure__equipment_needs__equipment", Count("pk"))
    parts = _wants(pks, last_day, "procedure__part_needs__part", Sum("procedure__part_needs__quantity"))
    found = [Wanted(one.name, one.capacity, pieces[one.pk]) for one in Equipment.objects.filter(pk__in=pieces)]
    return found + [Wanted(part_name(one), one.stock, parts[one.pk]) for one in Part.objects.filter(pk__in=parts)]


def part_name(part: Part) -> str:
    """A part's name and its code, which alone tells it from others."""
    return f"{part.name} ({part.code})"


def _wants(bases: list[int], last_day: date, thing: str, how_many: Count | Sum) -> Wants:
    """thing -> base name -> how many."""
    wants: Wants = defaultdict(dict)
    rows = _orders(bases, last_day).filter(**{f"{thing}__isnull": False}).order_by()
    for row in rows.values(base=F("turbine__site__base__name"), thing=F(thing)).annotate(many=how_many):
        wants[row["thing"]][row["base"]] = row["many"]
    return dict(wants)


def _orders(bases: list[int], last_day: date) -> QuerySet[Order]:
    opened = Q(opens_on__isnull=True) | Q(opens_on__lte=last_day)
    return Order.objects.filter(opened, turbine__site__base__in=bases, state__in=TO_PLAN, effort_left_h__gt=0)
