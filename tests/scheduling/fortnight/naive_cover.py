"""Rescue cover, read naively: for each minute of each stay, is anybody near enough (see naive_check.py)."""

from __future__ import annotations

from itertools import pairwise

from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem
from tests.scheduling.fortnight.naive_facts import away_minutes, by_id, crews, ends, hop, is_fit


def cover(p: Problem, plan: Plan) -> bool:
    if p.rules.cover_min == 0:
        return True
    return all(_someone(p, plan, v, m) for v in plan.visits for m in range(_minute(p, v.day, v.start), _end(p, v)))


def _someone(p: Problem, plan: Plan, v: Visit, minute: int) -> bool:
    if v.day in p.standby_days and hop(p, "", v.turbine) <= p.rules.cover_min:
        return True
    for day, who, visits in crews(plan):
        rescuers = [name for name in who if day in by_id(p.people, name).rescue_days and is_fit(by_id(p.people, name), day)]
        if day != v.day or who == frozenset(v.people) or len(rescuers) < 2:
            continue
        for places in _places_at(p, visits, minute):
            if all(hop(p, place, v.turbine) <= p.rules.cover_min for place in places):
                return True
    return False


def _places_at(p: Problem, visits: list[Visit], minute: int) -> list[tuple[str, ...]]:
    """Where a team stands at a minute, or the two places it is between."""
    day = visits[0].day
    leaves, returns = away_minutes(p, visits)
    found: list[tuple[str, ...]] = [(v.turbine,) for v in visits if _minute(p, day, v.start) <= minute < _end(p, v)]
    found += [(a.turbine, b.turbine) for a, b in pairwise(visits) if _end(p, a) <= minute < _minute(p, day, b.start)]
    if leaves <= minute < _minute(p, day, visits[0].start):
        found.append((ends(visits)[0], visits[0].turbine))
    if _end(p, visits[-1]) <= minute < returns:
        found.append((visits[-1].turbine, ends(visits)[1]))
    return found


def _minute(p: Problem, day: int, slot: int) -> int:
    return p.days[day].start_min + slot * p.slot_min


def _end(p: Problem, v: Visit) -> int:
    return _minute(p, v.day, v.start + v.slots)
