"""Gates and the way up, turbine by turbine and day by day."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from planner import gates
from planner.models import Turbine
from scheduling.access import access_min
from scheduling.fortnight.problem import Access


@dataclass(frozen=True)
class Ways:
    """How one turbine is reached on each day, and why not otherwise. `reasons` has one tuple of sentences a day.

    `shut` gives each day's shut gates, for the orders that open them.
    """

    access: tuple[Access, ...]
    reasons: tuple[tuple[str, ...], ...]
    shut: tuple[gates.Shut, ...]


def ways_up(turbine: Turbine, shut_by_day: Sequence[dict[int, dict[str, list[gates.Lapse]]]], dates: Sequence[date]) -> Ways:
    """The ways up a turbine on the given dates; `shut_by_day` holds `lapses_on` of all due work for each of them."""
    access, reasons, shut = [], [], []
    for day, lapses in zip(dates, shut_by_day, strict=True):
        own: gates.Shut = lapses.get(turbine.pk, {})
        found = gates.access_on(day, own, has_lift=turbine.type.lift_to_m is not None)
        access.append(way(turbine, found.by))
        reasons.append(found.reasons)
        shut.append(own)
    return Ways(tuple(access), tuple(reasons), tuple(shut))


def way(turbine: Turbine, by: str) -> Access:
    """The way up by lift or ladder with its whole minutes, one way."""
    if by == "none":
        return Access("none", 0, 0)
    kind = turbine.type
    lift_to_m = kind.lift_to_m or 0.0
    minutes = access_min(
        lift_to_m,
        turbine.hub_height_m - lift_to_m,
        lift_m_per_min=kind.lift_m_per_min,
        ladder_m_per_min=kind.climb_m_per_min,
        lift_shut=by == "ladder",
    )
    return Access(by, math.ceil(minutes), math.ceil(minutes))


def way_for_opener(turbine: Turbine, shut: gates.Shut) -> Access:
    """The way up for the inspection that opens climbing: the lift if that may be ridden, else the ladder."""
    has_lift = turbine.type.lift_to_m is not None and "lift" not in shut
    return way(turbine, "lift" if has_lift else "ladder")
