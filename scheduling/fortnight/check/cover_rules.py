"""Rescue cover between teams: who could reach a team that is up, minute by minute."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from scheduling.fortnight.check.view import Route, View, breach
from scheduling.fortnight.plan import Violation, Visit

ABLE_TO_RESCUE = 2
"""Fit, rescue-capable people whom another team needs to count as cover."""


def cover(view: View) -> Iterator[Violation]:
    """Every minute of every stay, somebody who can rescue is within cover_min of it."""
    asked = view.problem.rules.cover_min
    for visit in view.visits if asked else ():
        bare = _bare_min(view, visit)
        if bare:
            text = f"{view.at(visit)}: for {bare} min nobody who can rescue is within {asked} min of the team"
            yield breach("cover", text, visit, bare, visit.people)


def _bare_min(view: View, visit: Visit) -> int:
    """Minutes of the stay that nobody covers."""
    asked, slot_min = view.problem.rules.cover_min, view.problem.slot_min
    if visit.day in view.problem.standby_days and view.hop_min(None, visit.turbine) <= asked:
        return 0
    minutes = set(range(visit.start * slot_min, (visit.start + visit.slots) * slot_min))
    for route in view.routes:
        if route.day == visit.day and set(route.people) != set(visit.people) and _can_rescue(view, route):
            for begin, end in _reach(view, route, visit.turbine):
                minutes.difference_update(range(begin, end))
    return len(minutes)


def _can_rescue(view: View, route: Route) -> bool:
    team = [view.people[one] for one in route.people]
    return sum(view.is_fit(p, route.day) and route.day in p.rescue_days for p in team) >= ABLE_TO_RESCUE


def _reach(view: View, route: Route, turbine: str) -> Iterator[tuple[int, int]]:
    """Stretches of minutes of the day in which the route's team is within cover_min of a turbine."""
    slot_min, asked = view.problem.slot_min, view.problem.rules.cover_min
    stood = [(v.turbine, v.start * slot_min, (v.start + v.slots) * slot_min) for v in route.visits]
    for where, begin, end in stood:
        if view.hop_min(where, turbine) <= asked:
            yield begin, end
    for (here, _, begin), (there, end, _) in pairwise(stood):
        if max(view.hop_min(here, turbine), view.hop_min(there, turbine)) <= asked:
            yield begin, end
    first, last = stood[0], stood[-1]
    if max(view.home_min(route.starts_from, turbine), view.hop_min(first[0], turbine)) <= asked:
        yield route.leaves_min, first[1]
    if max(view.home_min(route.ends_at, turbine), view.hop_min(last[0], turbine)) <= asked:
        yield last[2], route.returns_min
