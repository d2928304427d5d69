"""The rows a due list rests on, read once each whatever the number of turbines, and put into planner.due's records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import cast

from django.db.models import QuerySet

from planner import due as core
from planner.choices import Scope
from planner.models import Component, CounterReading, Interval, Site, Turbine, WorkDone

Asset = tuple[int | None, int, int | None]
"""Interval, turbine and component, as ids."""


@dataclass(frozen=True)
class Register:
    """Turbines with site and type; everything else by what it hangs on. `inside`: interval -> all it contains."""

    turbines: list[Turbine]
    components: Mapping[int, list[Component]]
    intervals: list[Interval]
    inside: Mapping[int, frozenset[int]]
    done: Mapping[Asset, list[WorkDone]]
    readings: Mapping[tuple[int, str], list[CounterReading]]

    def assets_of(self, turbine: Turbine) -> list[tuple[Interval, Component | None]]:
        """What falls due on a turbine: each interval with each of its components, None for the turbine as a whole."""
        return [(interval, part) for interval in self.intervals for part in self._parts(interval, turbine)]

    def _parts(self, interval: Interval, turbine: Turbine) -> list[Component] | list[None]:
        if interval.scope == Scope.COMPONENT:
            return [part for part in self.components.get(turbine.pk, ()) if applies(interval, turbine, part)]
        return [None] if applies(interval, turbine, None) else []


def applies(interval: Interval, turbine: Turbine, part: Component | None) -> bool:
    """Whether an interval falls due on a turbine as a whole (part None) or on one of its components."""
    if interval.scope == Scope.TURBINE:
        return part is None and interval.turbine_id == turbine.pk
    if interval.turbine_type_id not in (None, turbine.type_id):
        return False
    if interval.scope == Scope.TYPE:
        return part is None
    return part is not None and part.turbine_id == turbine.pk and part.kind_id == interval.component_kind_id


def read_register(sites: list[Site], turbine: Turbine | None = None) -> Register:
    """Six queries."""
    wanted = Turbine.objects.filter(site__in=sites)
    if turbine is not None:
        wanted = wanted.filter(pk=turbine.pk)
    turbines = list(wanted.select_related("site", "type").order_by("site__code", "code"))
    return Register(
        turbines,
        _components(turbines, wanted),
        list(Interval.objects.filter(active=True).select_related("procedure").order_by("code")),
        inside_all(list(Interval.absorbs.through.objects.values_list("from_interval_id", "to_interval_id"))),
        _history(wanted),
        _readings(wanted),
    )


def inside_all(links: list[tuple[int, int]]) -> dict[int, frozenset[int]]:
    """interval -> all it contains, directly or through others, from (larger, smaller) links. A ring contains itself."""
    direct: dict[int, set[int]] = defaultdict(set)
    for larger, smaller in links:
        direct[larger].add(smaller)
    return {larger: _reached(direct, larger) for larger in list(direct)}


def core_interval(
    interval: Interval, turbine: Turbine, part: Component | None, key: str, absorbs: frozenset[str]
) -> core.Interval:
    """One interval on one asset as planner.due knows it. Raises its ValueError."""
    return core.Interval(
        key=key,
        name=f"{interval.procedure.name} ({interval.code})",
        trigger=cast(core.Trigger, interval.trigger),
        every=interval.every,
        first_every=interval.first_every,
        anchor=(part.installed_on if part else None) or turbine.commissioned_on,
        fixed=interval.fixed,
        early_days=interval.early_days,
        late_days=interval.late_days,
        statutory=interval.statutory,
        stops=frozenset(interval.stops),
        absorbs=frozenset(absorbs),
    )


def core_history(rows: list[WorkDone], part: Component | None) -> list[core.Done]:
    """History of one asset; what was done on a component's predecessor does not count. Raises planner.due's ValueError."""
    since = (part.installed_on if part else None) or date.min
    return [core.Done(row.done_on, row.due_on, row.counter) for row in rows if row.done_on >= since]


def core_readings(rows: list[CounterReading]) -> list[core.CounterReading]:
    """Readings of one counter. Raises planner.due's ValueError."""
    return [core.CounterReading(row.read_on, row.value) for row in rows]


def _reached(direct: Mapping[int, set[int]], start: int) -> frozenset[int]:
    found: set[int] = set()
    ahead = list(direct[start])
    while ahead:
        one = ahead.pop()
        if one not in found:
            found.add(one)
            ahead += direct.get(one, ())
    return frozenset(found)


def _components(turbines: list[Turbine], wanted: QuerySet[Turbine]) -> Mapping[int, list[Component]]:
    own = {turbine.pk: turbine for turbine in turbines}
    found: dict[int, list[Component]] = defaultdict(list)
    rows = Component.objects.filter(turbine__in=wanted).select_related("kind").order_by("kind__code", "position", "pk")
    for component in rows:
        component.turbine = own[component.turbine_id]
        found[component.turbine_id].append(component)
    return found


def _history(wanted: QuerySet[Turbine]) -> Mapping[Asset, list[WorkDone]]:
    found: dict[Asset, list[WorkDone]] = defaultdict(list)
    for row in WorkDone.objects.filter(turbine__in=wanted).order_by("done_on", "pk"):
        found[row.interval_id, row.turbine_id, row.component_id].append(row)
    return found


def _readings(wanted: QuerySet[Turbine]) -> Mapping[tuple[int, str], list[CounterReading]]:
    found: dict[tuple[int, str], list[CounterReading]] = defaultdict(list)
    for row in CounterReading.objects.filter(turbine__in=wanted).order_by("read_on"):
        found[row.turbine_id, row.counter].append(row)
    return found
