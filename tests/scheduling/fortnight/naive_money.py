"""The parts of a plan's cost counted one slot, minute or person at a time (see naive_check.py)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from tests.scheduling.fortnight.naive_facts import (
    away_minutes,
    by_id,
    chance,
    column,
    crews,
    ends,
    hop,
    orders_of,
    slots_of,
    standing_between,
    stops,
    visits_of,
)
from tests.scheduling.fortnight.naive_night import night_cents


def naive_parts(p: Problem, plan: Plan) -> dict[str, int]:
    """Cents by part, counted one slot, minute or person at a time."""
    parts = dict.fromkeys(("lost energy", "lateness", "left out", "likely aborts", "travel"), Fraction(0))
    parts |= dict.fromkeys(("teams", "overtime", "equipment", "change"), Fraction(0))
    parts["nights away"] = Fraction(night_cents(p, plan))
    parts |= {"hired people": hires(p, plan), "hand-over": hand_overs(p, plan), "pairs apart": apart(p, plan)}
    for v in plan.visits:
        for turbine in stops(p, v):
            parts["lost energy"] += sum(slot_cents(p, turbine, at) for at in slots_of(p, v))
        weight = Fraction(p.day_weight[v.day]) if p.day_weight else 1
        parts["likely aborts"] += (1 - chance(p, v)) * p.weights.abort_per_person * len(v.people) * weight
    for turbine, slots, nights in standing_between(p, plan):
        t = by_id(p.turbines, turbine)
        parts["lost energy"] += sum(slot_cents(p, turbine, at) for at in slots)
        parts["lost energy"] += sum(Fraction(p.night_mwh[t.energy][n]) * p.night_cents[t.site][n] for n in nights)
    for order in p.orders:
        days = [v.day for _, _, v in visits_of(plan, order.id)]
        parts["left out"] += 0 if days else order.left_out_cost
        parts["lateness"] += sum(order.late_cost for day in range(order.due_day + 1, max(days) + 1)) if days else 0
    for day, who, visits in crews(plan):
        here, there = ends(visits)
        route = [here, *(v.turbine for v in visits), there]
        driven = sum(hop(p, a, b) for a, b in pairwise(route))
        parts["travel"] += driven * p.weights.travel_per_person_min * len(who)
        parts["teams"] += p.weights.team_day
        leaves, returns = away_minutes(p, visits)
        for name in who:
            for s in by_id(p.people, name).shifts:
                late = p.days[day].start_min + s.regular_end * p.slot_min
                minutes = sum(minute >= late for minute in range(leaves, returns)) if s.day == day else 0
                parts["overtime"] += minutes * p.weights.overtime_per_person_min
    for piece in p.equipment:
        used = {v.day for v in plan.visits if any(piece.id in order.equipment for order in orders_of(p, v))}
        parts["equipment"] += piece.day_cost * len(used) + (piece.mobilise_cost if used else 0)
    for was in p.published:
        now = [v for n, _, v in visits_of(plan, was.order) if n == was.visit]
        stays = bool(now) and (now[-1].day, now[-1].start) == (was.day, was.start)
        gone = [name for name in dict.fromkeys(was.people) if stays and name not in now[-1].people]
        parts["change"] += len(gone) * was.crew_cost if stays else was.change_cost
    return {name: round(cents) for name, cents in parts.items()}


def hires(p: Problem, plan: Plan) -> Fraction:
    days = [(person, d) for person in p.people for d in range(len(p.days))]
    out = [person for person, d in days if any(v.day == d and person.id in v.people for v in plan.visits)]
    return Fraction(sum(person.day_cost for person in out))


def hand_overs(p: Problem, plan: Plan) -> Fraction:
    cents = 0
    for order in p.orders:
        visits = [v for _, _, v in visits_of(plan, order.id)]
        for i in range(1, len(visits)):
            both = [name for name in visits[i].people if name in visits[i - 1].people and not by_id(p.people, name).learner]
            cents += order.hand_over_cost if not both else 0
    return Fraction(cents)


def apart(p: Problem, plan: Plan) -> Fraction:
    cents = 0
    for d in range(len(p.days)):
        for a, b in p.prefer:
            with_a = [v for v in plan.visits if v.day == d and a in v.people]
            with_b = [v for v in plan.visits if v.day == d and b in v.people]
            cents += p.weights.pair_apart if with_a and with_b and not any(b in v.people for v in with_a) else 0
    return Fraction(cents)


def slot_cents(p: Problem, turbine: str, at: tuple[int, int]) -> Fraction:
    t = by_id(p.turbines, turbine)
    c = column(p, *at)
    return Fraction(p.stop_mwh[t.energy][c]) * p.price_cents[t.site][c]
