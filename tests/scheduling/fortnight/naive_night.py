"""Where teams sleep, read naively (see naive_check.py)."""

from __future__ import annotations

from datetime import date, timedelta

from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem
from tests.scheduling.fortnight.naive_facts import by_id, crews


def night(p: Problem, plan: Plan) -> bool:
    for day, who, visits in crews(plan):
        if len({(v.starts_from, v.ends_at) for v in visits}) > 1:
            return False
        evening, morning = visits[-1].ends_at, visits[0].starts_from
        if evening and not any(_slept(p, visits, other, d - day) for d, people, other in crews(plan) if people == who):
            return False
        if morning and not any(_slept(p, other, visits, day - d) for d, people, other in crews(plan) if people == who):
            return False
    return True


def _slept(p: Problem, before: list[Visit], after: list[Visit], days: int) -> bool:
    if days != 1 or before[-1].ends_at == "" or before[-1].ends_at != after[0].starts_from:
        return False
    dates = [date.fromisoformat(p.days[v.day].date) for v in (before[-1], after[0])]
    vans = [sorted({v.vehicle for v in visits}) for visits in (before, after)]
    return dates[0] + timedelta(days=1) == dates[1] and vans[0] == vans[1]


def beds(p: Problem, plan: Plan) -> bool:
    for lodging in p.lodgings:
        for day in range(len(p.days)):
            sleepers = {x for d, who, vs in crews(plan) for x in who if d == day and vs[-1].ends_at == lodging.id}
            if len(sleepers) > lodging.beds:
                return False
    return True


def nights_in_row(p: Problem, plan: Plan) -> bool:
    most = p.rules.nights_in_row
    for person in p.people:
        away = [any(d == day and person.id in who and vs[-1].ends_at for d, who, vs in crews(plan)) for day in range(len(p.days))]
        if any(all(away[day : day + most + 1]) for day in range(len(away) - most)):
            return False
    return True


def night_cents(p: Problem, plan: Plan) -> int:
    return sum(by_id(p.lodgings, vs[-1].ends_at).night_cost * len(who) for _, who, vs in crews(plan) if vs[-1].ends_at)
