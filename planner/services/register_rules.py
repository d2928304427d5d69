"""Rules of the register that look at more than the row itself. Every door (admin, API, import) asks them before it writes.

Each raises ValidationError with the field and a sentence that says what to give instead.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Min

from planner import due
from planner.models import Closure, Component, Interval, Limit, Turbine, TurbineType
from planner.models.procedures import check_limit_against_cut_in
from planner.selectors.due_rows import inside_all

ANY_DAY = date(2000, 1, 1)


def limit_check(limit: Limit) -> None:
    """A limit has its height, and a wind limit below the cut-in of every turbine type is a slip of the unit."""
    if not limit.at_hub and limit.height_m is None:
        raise ValidationError({"height_m": "A limit needs its height: tick at_hub or give height_m."})
    cut_in_mps = TurbineType.objects.aggregate(least=Min("cut_in_mps"))["least"]
    check_limit_against_cut_in(limit, cut_in_mps or 0.0)


def turbine_type_check(kind: TurbineType) -> None:
    """The lift stays below the hub of every turbine that has the type already."""
    lower = Turbine.objects.filter(type=kind.pk, hub_height_m__lt=kind.lift_to_m) if kind.pk and kind.lift_to_m else None
    if lower is not None and lower.exists():
        raise ValidationError({"lift_to_m": "A turbine of this type has a lower hub: give the height the lift reaches."})


def component_check(component: Component) -> None:
    """A tree has no rings."""
    above, seen = component.parent, {component.pk} - {None}
    while above is not None:
        if above.pk in seen:
            raise ValidationError({"parent": "The parent lies below this component: choose one above it."})
        seen.add(above.pk)
        above = above.parent


def closure_check(closure: Closure) -> None:
    """The turbine is one of the site."""
    if closure.turbine is not None and closure.turbine.site_id != closure.site_id:
        raise ValidationError({"turbine": "The turbine belongs to another site: choose one of this site."})


def interval_check(interval: Interval, absorbs: Iterable[Interval]) -> None:
    """What the due list could not count with, and rings of intervals that absorb each other."""
    if interval.pk and _closes_ring(interval.pk, {other.pk for other in absorbs}):
        raise ValidationError({"absorbs": "An interval absorbs neither itself nor one that absorbs it: leave it out."})
    trigger: Any = interval.trigger
    try:
        due.Interval(
            key=interval.code, trigger=trigger, every=interval.every, first_every=interval.first_every, anchor=ANY_DAY,
            fixed=interval.fixed, early_days=interval.early_days, late_days=interval.late_days, statutory=interval.statutory,
            stops=frozenset(interval.stops),
        )  # fmt: skip
    except ValueError as error:
        field = str(error).split()[0]
        known = {one.name for one in Interval._meta.get_fields()}
        raise ValidationError({field: str(error)} if field in known else str(error)) from error


def _closes_ring(interval_id: int, absorbs: set[int]) -> bool:
    links = list(Interval.absorbs.through.objects.values_list("from_interval_id", "to_interval_id"))
    inside = inside_all([link for link in links if link[0] != interval_id] + [(interval_id, other) for other in absorbs])
    return interval_id in inside.get(interval_id, frozenset())
