"""The rules about who, read naively (see naive_check.py)."""

from __future__ import annotations

from itertools import pairwise

from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Order, Problem
from tests.scheduling.fortnight.naive_facts import by_id, crews, hop, is_fit, orders_of, people_of, visits_of, way, whole


def asked_people(p: Problem, plan: Plan, order: Order) -> int:
    minutes = [m for _, m, _ in visits_of(plan, order.id)]
    fitting = [mode.team for mode in order.modes if list(mode.visits_min) == minutes]
    return min(fitting) if fitting else min(mode.team for mode in order.modes)


def team_size(p: Problem, plan: Plan) -> bool:
    for v in plan.visits:
        count = sum(is_fit(person, v.day) for person in people_of(p, v))
        if count < p.rules.min_team or any(count < asked_people(p, plan, order) for order in orders_of(p, v)):
            return False
        if any(not is_fit(person, v.day) and not person.learner for person in people_of(p, v)):
            return False
        if len(set(v.people)) != len(v.people):
            return False
    return True


def certificate(p: Problem, plan: Plan) -> bool:
    return all(v.day in person.fit_days for v in plan.visits for person in people_of(p, v))


def rescue(p: Problem, plan: Plan) -> bool:
    able = [[x for x in people_of(p, v) if v.day in x.rescue_days and is_fit(x, v.day)] for v in plan.visits]
    return all(len(people) >= p.rules.rescue_pair for people in able)


def skill(p: Problem, plan: Plan) -> bool:
    for v in plan.visits:
        for order in orders_of(p, v):
            for need in order.needs:
                count = 0
                for person in people_of(p, v):
                    held = [h for h in person.skills if h.skill == need.skill and h.level >= need.level and v.day in h.days]
                    count += bool(held) and is_fit(person, v.day)
                if count < need.count:
                    return False
    return True


def one_team(p: Problem, plan: Plan) -> bool:
    for a in plan.visits:
        for b in plan.visits:
            if a.day != b.day:
                continue
            same = set(a.people) == set(b.people)
            if (not same and set(a.people) & set(b.people)) or same != (a.team == b.team):
                return False
    for _, _, visits in crews(plan):
        for a, b in pairwise(visits):
            if b.start < a.start + a.slots + whole(p, hop(p, a.turbine, b.turbine)):
                return False
    return True


def vehicle(p: Problem, plan: Plan) -> bool:
    for a in plan.visits:
        if len(set(a.people)) > by_id(p.vehicles, a.vehicle).seats:
            return False
        for b in plan.visits:
            if a.day == b.day and (a.vehicle == b.vehicle) != (set(a.people) == set(b.people)):
                return False
    return True


def climbs(p: Problem, plan: Plan) -> bool:
    for person in p.people:
        for day in range(len(p.days)):
            made = [v for v in plan.visits if v.day == day and person.id in v.people]
            ladder = [v for v in made if way(p, v)[0] == "ladder"]
            if len(made) > p.rules.climbs_a_day or len(ladder) > p.rules.ladder_climbs_a_day:
                return False
    return True


def together(p: Problem, plan: Plan) -> bool:
    for day in range(len(p.days)):
        teams = [who for d, who, _ in crews(plan) if d == day]
        if any(a in who and b in who for a, b in p.apart for who in teams):
            return False
        for a, b in p.together:
            out = {name for who in teams for name in who}
            if a in out and b in out and any((a in who) != (b in who) for who in teams):
                return False
    return True
