"""The parts of a plan's cost, counted again from the records; whole cents, rounded once per part."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np

from scheduling.fortnight.check.place_rules import between_visits
from scheduling.fortnight.check.view import View
from scheduling.fortnight.plan import Violation

SUMS_OF_FRACTIONS = ("lost energy", "likely aborts")
"""Parts that sum fractions of a cent: another order of adding may tip the last cent."""


def lost_energy(view: View) -> float:
    """Cents of energy not produced: visits, and turbines left stopped between visits of an order."""
    while_working = (_standstill(view, turbine, view.columns(visit)) for visit in view.visits for turbine in view.stops(visit))
    between = (_standstill(view, turbine, columns) for turbine, columns in between_visits(view))
    return math.fsum(while_working) + math.fsum(between) + math.fsum(_nights(view))


def _standstill(view: View, turbine: str, columns: slice) -> float:
    record, problem = view.turbines[turbine], view.problem
    return float(np.dot(problem.stop_mwh[record.energy][columns], problem.price_cents[record.site][columns]))


def _nights(view: View) -> Iterator[float]:
    for order_id, jobs in view.planned.items():
        order = view.orders[order_id]
        turbine = view.turbines[order.turbine]
        if order.stopped_between:
            mwh, cents = view.problem.night_mwh[turbine.energy], view.problem.night_cents[turbine.site]
            yield from (mwh[night] * cents[night] for night in range(jobs[0][1].day, jobs[-1][1].day))


def lateness(view: View) -> float:
    """Cents for days that last visits lie after the orders' due days."""
    late = 0
    for order_id, jobs in view.planned.items():
        order = view.orders[order_id]
        late += order.late_cost * max(0, max(visit.day for _, visit in jobs) - order.due_day)
    return late


def left_out(view: View) -> float:
    """Cents for orders without a visit."""
    return sum(order.left_out_cost for order in view.problem.orders if order.id not in view.planned)


def likely_aborts(view: View) -> float:
    """Cents for visits that the weather may break off, by people and the weight of the day."""
    each, by_day = view.problem.weights.abort_per_person, view.problem.day_weight
    return math.fsum(
        (1.0 - view.chance(visit)) * each * len(visit.people) * (by_day[visit.day] if by_day else 1.0) for visit in view.visits
    )


def travel(view: View) -> float:
    """Cents for minutes on the road, by people."""
    each = view.problem.weights.travel_per_person_min
    return sum(each * sum(route.hops_min) * len(route.people) for route in view.routes)


def nights_away(view: View) -> float:
    """Cents for each person and night at a lodging."""
    return sum(view.lodgings[r.ends_at].night_cost * len(r.people) for r in view.routes if r.ends_at)


def teams(view: View) -> float:
    """Cents for each team and day."""
    return view.problem.weights.team_day * len(view.routes)


def overtime(view: View) -> float:
    """Cents for minutes away after the regular end of each person's shift."""
    return view.problem.weights.overtime_per_person_min * sum(
        overtime_min(view, person, route.day, route.leaves_min, route.returns_min)
        for route in view.routes
        for person in route.people
    )


def overtime_min(view: View, person: str, day: int, leaves_min: int, returns_min: int) -> int:
    """Minutes after the regular end; without a shift none (the rule "shift" reports that)."""
    envelope = view.shifts.get((person, day))
    if envelope is None:
        return 0
    return max(0, returns_min - max(leaves_min, envelope.regular_end * view.problem.slot_min))


def equipment(view: View) -> float:
    """Cents for each piece of equipment and day it is used on, and once for each piece used at all."""
    used = {(piece, visit.day) for visit in view.visits for order in view.job_orders(visit) for piece in order.equipment}
    once = sum(view.equipment[piece].mobilise_cost for piece in {piece for piece, _ in used})
    return once + sum(view.equipment[piece].day_cost for piece, _ in used)


def change(view: View) -> float:
    """Cents for published visits that are left out or moved to another day or slot, and for people gone from those that stand."""
    stands = {(job.order, job.visit): visit for jobs in view.planned.values() for job, visit in jobs}
    total = 0
    for told in view.problem.published:
        visit = stands.get((told.order, told.visit))
        if visit is None or (visit.day, visit.start) != (told.day, told.start):
            total += told.change_cost
        else:
            total += told.crew_cost * len(set(told.people) - set(visit.people))
    return total


def hired_people(view: View) -> float:
    """Cents for each day on which somebody is in a team."""
    out = {(person, route.day) for route in view.routes for person in route.people}
    return sum(view.people[person].day_cost for person, _ in out)


def hand_over(view: View) -> float:
    """Cents for visits of an order whose team holds nobody of the visit before; learners do not count."""
    total = 0
    for order_id, jobs in view.planned.items():
        teams = [{person.id for person in view.team(visit) if not person.learner} for _, visit in jobs]
        total += view.orders[order_id].hand_over_cost * sum(not (before & now) for before, now in pairwise(teams))
    return total


def pairs_apart(view: View) -> float:
    """Cents for each preferred pair and day on which both are out, but not in one team."""
    apart = 0
    for day in range(len(view.problem.days)):
        teams = [set(route.people) for route in view.routes if route.day == day]
        out = {person for team in teams for person in team}
        apart += sum({a, b} <= out and not any({a, b} <= team for team in teams) for a, b in view.problem.prefer)
    return view.problem.weights.pair_apart * apart


COUNTS: dict[str, Callable[[View], float]] = {
    "lost energy": lost_energy,
    "lateness": lateness,
    "left out": left_out,
    "likely aborts": likely_aborts,
    "travel": travel,
    "nights away": nights_away,
    "teams": teams,
    "overtime": overtime,
    "equipment": equipment,
    "change": change,
    "hired people": hired_people,
    "hand-over": hand_over,
    "pairs apart": pairs_apart,
}


def count_parts(view: View) -> dict[str, int]:
    """Every part by name, whole cents."""
    return {name: round(count(view)) for name, count in COUNTS.items()}


def value(view: View) -> Iterator[Violation]:
    """The stated parts are the counted parts, none missing, none added."""
    counted, stated = count_parts(view), view.plan.parts
    for name in sorted(set(stated) - set(counted)):
        yield Violation("value", f"the plan states a part {name!r} that there is not", amount=abs(stated[name]))
    for name, cents in counted.items():
        slack = 1 if name in SUMS_OF_FRACTIONS else 0
        if name in stated and abs(stated[name] - cents) <= slack:
            continue
        text = f"{name}: the plan states {stated.get(name, 'nothing')}, counted again it is {cents} cents"
        yield Violation("value", text, amount=abs(stated.get(name, 0) - cents))
