"""Rules about where and when: stays, windows, access, turbines, equipment, what stands still."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np

from scheduling.fortnight.check.view import View, breach, overlaps
from scheduling.fortnight.plan import Violation, Visit

CLOSE = 1e-9
"""Chances are counts over members; two of them are the same when they differ by less."""


def stay(view: View) -> Iterator[Violation]:
    """As long as the definition says, inside its day."""
    for visit in view.visits:
        asked, slots = view.stay_of(visit), view.problem.days[visit.day].slots
        if visit.slots != asked.slots:
            text = f"{view.at(visit)}: {visit.slots} slots, the stay takes {asked.slots} ({asked.minutes} min)"
            yield breach("stay", text, visit, abs(asked.slots - visit.slots))
        outside = max(0, -visit.start) + max(0, visit.start + visit.slots - slots)
        if outside:
            yield breach("stay", f"{view.at(visit)}: {outside} slots lie outside the day's {slots}", visit, outside)


def window(view: View) -> Iterator[Violation]:
    """Chance at least the asked confidence, and stated as it is."""
    asked = view.problem.rules.confidence
    for visit in view.visits:
        chance = view.chance(visit)
        if chance < asked - CLOSE:
            text = f"{view.at(visit)}: the whole stay fits in {chance:.0%} of the members, {asked:.0%} are asked for"
            yield breach("window", text, visit, asked - chance)
        is_as_stated = abs(visit.chance - chance) <= CLOSE
        if not is_as_stated:
            text = f"{view.at(visit)}: the plan states a chance of {visit.chance}, the members give {chance}"
            yield breach("window", text, visit, abs(visit.chance - chance))


def day_allowed(view: View) -> Iterator[Violation]:
    """The day is one of the order's days."""
    for visit in view.visits:
        for order in view.job_orders(visit):
            if visit.day not in order.days:
                yield breach("day allowed", f"{view.at(visit)}: order {order.id} may not be worked on that day", visit)


def access(view: View) -> Iterator[Violation]:
    """Nobody climbs where access is none, save for orders that open climbing or come behind; the way up is stated as it is."""
    for visit in view.visits:
        shut = view.turbines[visit.turbine].access[visit.day].by == "none"
        opening = all(order.opens_climbing or (order.behind and order.access) for order in view.job_orders(visit))
        if shut and not opening:
            yield breach("access", f"{view.at(visit)}: climbing is shut that day and the work does not open it", visit)
        by = view.stay_of(visit).by
        if visit.by != by:
            yield breach("access", f"{view.at(visit)}: the plan states access by {visit.by}, it is {by}", visit)


def one_team_per_turbine(view: View) -> Iterator[Violation]:
    """Stays on a turbine do not overlap; an order that goes alone shares its visit with no other."""
    at: dict[tuple[str, int], list[Visit]] = defaultdict(list)
    for visit in view.visits:
        at[visit.turbine, visit.day].append(visit)
        alone = [order.id for order in view.job_orders(visit) if not order.ride_along]
        if alone and len(visit.jobs) > 1:
            yield breach("one team per turbine", f"{view.at(visit)}: order {alone[0]} must not ride along", visit, 1)
    for visits in at.values():
        for a, b in combinations(visits, 2):
            if overlaps(a, b):
                text = f"{view.at(b)}: two stays on the turbine share {overlaps(a, b)} slots"
                yield breach("one team per turbine", text, b, overlaps(a, b))


def isolation(view: View) -> Iterator[Violation]:
    """A visit that stops other turbines overlaps no visit on them."""
    on: dict[tuple[str, int], list[Visit]] = defaultdict(list)
    for visit in view.visits:
        on[visit.turbine, visit.day].append(visit)
    for visit in view.visits:
        for turbine in sorted(view.stops(visit) - {visit.turbine}):
            for other in on[turbine, visit.day]:
                if overlaps(visit, other):
                    text = f"{view.at(visit)}: stops {turbine} while people work there"
                    yield breach("isolation", text, visit, overlaps(visit, other), other.people)


def equipment(view: View) -> Iterator[Violation]:
    """A piece of equipment: at most its capacity at a time, only on its days."""
    for piece in view.problem.equipment:
        users = [v for v in view.visits if any(piece.id in order.equipment for order in view.job_orders(v))]
        for visit in users:
            if visit.day not in piece.days:
                yield breach("equipment", f"{view.at(visit)}: {piece.name} is not there that day", visit)
        use = np.zeros(view.problem.total_slots, dtype=np.int64)
        for visit in users:
            use[view.columns(visit)] += 1
        for visit in users:
            most = int(use[view.columns(visit)].max(initial=0))
            if most > piece.capacity:
                text = f"{view.at(visit)}: {most} visits use {piece.name} at a time, there are {piece.capacity}"
                yield breach("equipment", text, visit, most - piece.capacity)


def most_stopped(view: View) -> Iterator[Violation]:
    """Turbines of a site standing still at the same time, those stopped between two visits among them."""
    if not view.problem.rules.max_stopped:
        return
    row = {turbine.id: i for i, turbine in enumerate(view.problem.turbines)}
    stopped = np.zeros((len(row), view.problem.total_slots), dtype=bool)
    for visit in view.visits:
        for turbine in view.stops(visit):
            stopped[row[turbine], view.columns(visit)] = True
    for turbine, columns in between_visits(view):
        stopped[row[turbine], columns] = True
    for site, limit in view.problem.rules.max_stopped.items():
        count = stopped[[row[t.id] for t in view.problem.turbines if t.site == site]].sum(axis=0)
        for number, day in enumerate(view.problem.days):
            most = int(count[day.first_slot : day.first_slot + day.slots].max(initial=0))
            if most > limit:
                text = f"site {site}: {most} turbines stand still at a time on {day.date}, at most {limit}"
                yield Violation("most stopped", text, day=number, amount=most - limit)


def between_visits(view: View) -> Iterator[tuple[str, slice]]:
    """(turbine, columns) that stand still between two visits of an order that keeps its turbine stopped."""
    for order_id, jobs in view.planned.items():
        if view.orders[order_id].stopped_between:
            for (_, a), (_, b) in pairwise(jobs):
                start, end = view.columns(a).stop, view.columns(b).start
                yield view.orders[order_id].turbine, slice(start, max(start, end))
