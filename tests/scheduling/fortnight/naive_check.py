"""The rules a second time, as plainly as can be: minute by minute and slot by slot, slow, sharing nothing with the checker.

`naive_rules` names the rules a plan breaks; the plan must name only what exists.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem
from tests.scheduling.fortnight.naive_cover import cover
from tests.scheduling.fortnight.naive_facts import (
    away_minutes,
    by_id,
    chance,
    crews,
    ends,
    hop,
    orders_of,
    pauses_inside,
    slots_of,
    standing_between,
    stay_slots,
    stops,
    visits_of,
    way,
    whole,
)
from tests.scheduling.fortnight.naive_money import naive_parts
from tests.scheduling.fortnight.naive_night import beds, night, nights_in_row
from tests.scheduling.fortnight.naive_team import certificate, climbs, one_team, rescue, skill, team_size, together, vehicle


def naive_rules(problem: Problem, plan: Plan) -> set[str]:
    """Names of the broken rules."""
    return {name for name, keeps in KEEPS.items() if not keeps(problem, plan)}


def known(p: Problem, plan: Plan) -> bool:
    jobs = [(job.order, job.visit) for v in plan.visits for job in v.jobs]
    right_place = all(order.turbine == v.turbine for v in plan.visits for order in orders_of(p, v))
    ids = {order.id for order in p.orders}
    listed = len(set(plan.left_out)) == len(plan.left_out) and set(plan.left_out) <= ids
    return len(set(jobs)) == len(jobs) and right_place and listed and all(v.jobs and v.people for v in plan.visits)


def complete(p: Problem, plan: Plan) -> bool:
    for order in p.orders:
        done = visits_of(plan, order.id)
        if bool(done) == (order.id in plan.left_out):
            return False
        modes = [[(n, m) for n, m in enumerate(mode.visits_min)] for mode in order.modes]
        if done and [(n, m) for n, m, _ in done] not in modes:
            return False
    return True


def shift(p: Problem, plan: Plan) -> bool:
    for day, who, visits in crews(plan):
        here, there = ends(visits)
        leaves = visits[0].start - whole(p, hop(p, here, visits[0].turbine))
        returns = max(v.start + v.slots for v in visits) + whole(p, hop(p, visits[-1].turbine, there))
        for name in who:
            if not any(s.day == day and s.start <= leaves and returns <= s.end for s in by_id(p.people, name).shifts):
                return False
    return True


def pause(p: Problem, plan: Plan) -> bool:
    for _, _, visits in crews(plan):
        leaves, returns = away_minutes(p, visits)
        free = [p.rules.break_min] if any(pauses_inside(p, v) for v in visits) else [0]
        for a, b in pairwise(visits):
            free.append((b.start - a.start - a.slots) * p.slot_min - hop(p, a.turbine, b.turbine))
        if returns - leaves > p.rules.break_after_min and not any(minutes >= p.rules.break_min for minutes in free):
            return False
    return True


def rest(p: Problem, plan: Plan) -> bool:
    for person in p.people:
        outs = [(day, *away_minutes(p, visits)) for day, who, visits in crews(plan) if person.id in who]
        for a in outs:
            for b in outs:
                between = [c for c in outs if a[0] < c[0] < b[0]]
                if a[0] < b[0] and not between and b[1] - a[2] < p.rules.rest_min:
                    return False
    return True


def weekly_hours(p: Problem, plan: Plan) -> bool:
    for person in p.people:
        for week in {day.week for day in p.days}:
            outs = [away_minutes(p, vs) for day, who, vs in crews(plan) if person.id in who and p.days[day].week == week]
            limit = person.week_left_min.get(week, p.rules.week_max_min)
            if sum(returns - leaves for leaves, returns in outs) > limit and outs:
                return False
    return True


def stay(p: Problem, plan: Plan) -> bool:
    return all(v.slots == stay_slots(p, v) and v.start >= 0 and v.start + v.slots <= p.days[v.day].slots for v in plan.visits)


def window(p: Problem, plan: Plan) -> bool:
    limit = Fraction(p.rules.confidence).limit_denominator(1000)
    return all(chance(p, v) >= limit and abs(v.chance - float(chance(p, v))) <= 1e-9 for v in plan.visits)


def day_allowed(p: Problem, plan: Plan) -> bool:
    return all(v.day in order.days for v in plan.visits for order in orders_of(p, v))


def access(p: Problem, plan: Plan) -> bool:
    for v in plan.visits:
        shut = by_id(p.turbines, v.turbine).access[v.day].by == "none"
        may = [order.opens_climbing or (order.access and order.behind) for order in orders_of(p, v)]
        if (shut and not all(may)) or v.by != way(p, v)[0]:
            return False
    return True


def one_team_per_turbine(p: Problem, plan: Plan) -> bool:
    for i, a in enumerate(plan.visits):
        if len(a.jobs) > 1 and not all(order.ride_along for order in orders_of(p, a)):
            return False
        for b in plan.visits[:i]:
            if a.turbine == b.turbine and raw_slots(a) & raw_slots(b):
                return False
    return True


def raw_slots(v: Visit) -> set[tuple[int, int]]:
    return {(v.day, s) for s in range(v.start, v.start + v.slots)}


def isolation(p: Problem, plan: Plan) -> bool:
    for a in plan.visits:
        for b in plan.visits:
            if b.turbine != a.turbine and b.turbine in stops(p, a) and raw_slots(a) & raw_slots(b):
                return False
    return True


def equipment(p: Problem, plan: Plan) -> bool:
    for piece in p.equipment:
        users = [v for v in plan.visits if any(piece.id in order.equipment for order in orders_of(p, v))]
        if any(v.day not in piece.days for v in users):
            return False
        for at in {at for v in users for at in slots_of(p, v)}:
            if sum(at in slots_of(p, v) for v in users) > piece.capacity:
                return False
    return True


def sequence(p: Problem, plan: Plan) -> bool:
    for order in p.orders:
        visits = [v for _, _, v in visits_of(plan, order.id)]
        for a, b in pairwise(visits):
            if b.day <= a.day or (order.max_gap_days is not None and b.day - a.day > order.max_gap_days):
                return False
        for earlier in order.after:
            ends = [p.days[v.day].start_min + (v.start + v.slots) * p.slot_min for _, _, v in visits_of(plan, earlier)]
            if visits and not ends:
                return False
            if visits and earlier in order.behind and visits[0].day <= max(v.day for _, _, v in visits_of(plan, earlier)):
                return False
            if visits and max(ends) + order.after_gap_min > p.days[visits[0].day].start_min + visits[0].start * p.slot_min:
                return False
    return True


def most_stopped(p: Problem, plan: Plan) -> bool:
    standing: dict[tuple[int, int], set[str]] = {}
    for v in plan.visits:
        for at in slots_of(p, v):
            standing.setdefault(at, set()).update(stops(p, v))
    for turbine, slots, _ in standing_between(p, plan):
        for at in slots:
            standing.setdefault(at, set()).add(turbine)
    for site, limit in p.rules.max_stopped.items():
        if any(len([t for t in names if by_id(p.turbines, t).site == site]) > limit for names in standing.values()):
            return False
    return True


def pin(p: Problem, plan: Plan) -> bool:
    for order in p.orders:
        stands = {n: (v.day, v.start) for n, _, v in visits_of(plan, order.id)}
        if any(stands.get(n) != (day, slot) for n, day, slot in order.pins):
            return False
    return True


def crew(p: Problem, plan: Plan) -> bool:
    for order in p.orders:
        done = visits_of(plan, order.id)
        for number, names in order.crew:
            if done and not any(n == number for n, _, _ in done):
                return False
            if any(n == number and not set(names) <= set(v.people) for n, _, v in done):
                return False
    return True


def value(p: Problem, plan: Plan) -> bool:
    counted = naive_parts(p, plan)
    slack = {"lost energy": 1, "likely aborts": 1}
    return set(counted) == set(plan.parts) and all(abs(plan.parts[k] - counted[k]) <= slack.get(k, 0) for k in counted)


KEEPS = {
    "known": known,
    "complete": complete,
    "team size": team_size,
    "certificate": certificate,
    "rescue": rescue,
    "cover": cover,
    "skill": skill,
    "one team": one_team,
    "vehicle": vehicle,
    "shift": shift,
    "break": pause,
    "rest": rest,
    "weekly hours": weekly_hours,
    "stay": stay,
    "window": window,
    "day allowed": day_allowed,
    "access": access,
    "climbs": climbs,
    "one team per turbine": one_team_per_turbine,
    "isolation": isolation,
    "equipment": equipment,
    "sequence": sequence,
    "most stopped": most_stopped,
    "pin": pin,
    "crew": crew,
    "together": together,
    "night": night,
    "beds": beds,
    "nights in a row": nights_in_row,
    "value": value,
}
