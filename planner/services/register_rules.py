"""Rules of the register that look at more than the row itself, in one place for every door (admin, API, import) to ask.

Each raises ValidationError with the field and a sentence that says what to give instead.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db.models import Min

from planner.models import Closure, Component, Interval, Limit, Procedure, Turbine, TurbineType
from planner.models.limits import check_limit_against_cut_in
from planner.selectors.due_rows import inside_all


def limit_check(limit: Limit) -> None:
    """A wind limit below the cut-in of every turbine type is a slip of the unit."""
    check_limit_against_cut_in(limit, _least_cut_in_mps())


def procedure_check(procedure: Procedure) -> None:
    """The limits of a limit set newly chosen are asked again: the turbine types may have changed since they were written."""
    if Procedure.objects.filter(pk=procedure.pk, limit_set=procedure.limit_set_id).exists():
        return
    cut_in_mps = _least_cut_in_mps()
    for limit in procedure.limit_set.limits.all():
        try:
            check_limit_against_cut_in(limit, cut_in_mps)
        except ValidationError as error:
            told = [f"In {procedure.limit_set}, {sentence}" for sentence in error.messages]
            raise ValidationError({"limit_set": told}) from error


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


def absorbs_check(interval: Interval, absorbs: Iterable[Interval]) -> None:
    """No ring of intervals that absorb each other."""
    if interval.pk and _closes_ring(interval.pk, {other.pk for other in absorbs}):
        raise ValidationError({"absorbs": "An interval absorbs neither itself nor one that absorbs it: leave it out."})


def _least_cut_in_mps() -> float:
    """0 where there are no types yet."""
    return TurbineType.objects.aggregate(least=Min("cut_in_mps"))["least"] or 0.0


def _closes_ring(interval_id: int, absorbs: set[int]) -> bool:
    links = list(Interval.absorbs.through.objects.values_list("from_interval_id", "to_interval_id"))
    inside = inside_all([link for link in links if link[0] != interval_id] + [(interval_id, other) for other in absorbs])
    return interval_id in inside.get(interval_id, frozenset())
