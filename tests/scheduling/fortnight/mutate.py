"""Seeded damage to a plan: one or several fields of it are made wrong (or, now and then, remain right)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Problem

Change = Callable[[np.random.Generator, Problem, Visit], Visit]


def mutated(rng: np.random.Generator, problem: Problem, plan: Plan) -> Plan:
    """The plan with one to three changes, usually priced again so that other rules than "value" show."""
    for _ in range(int(rng.integers(1, 4))):
        plan = _changed(rng, problem, plan)
    if rng.random() < 0.8:
        plan = replace(plan, parts=recompute_parts(problem, plan))
    return plan


def scattered(rng: np.random.Generator, problem: Problem) -> Plan:
    """A plan thrown together: visits of some orders on random days, starts and people, stays as they should be."""
    visits, left_out = [], []
    for order in problem.orders:
        if rng.random() < 0.25:
            left_out.append(order.id)
            continue
        mode = order.modes[int(rng.integers(0, len(order.modes)))]
        for number, minutes in enumerate(mode.visits_min):
            day = int(rng.integers(0, len(problem.days)))
            job = Job(order.id, number, minutes)
            draft = Visit(order.turbine, day, int(rng.integers(1, 5)), 2, int(rng.integers(0, 2)), (job,), (), "", 1.0, "lift")
            visits.append(_vehicle(rng, problem, _people(rng, problem, draft)))
    plan = Plan(tuple(visits), tuple(left_out))
    return replace(plan, parts=recompute_parts(problem, plan))


def _changed(rng: np.random.Generator, problem: Problem, plan: Plan) -> Plan:
    kind = rng.random()
    if not plan.visits or kind < 0.06:
        return replace(plan, parts={**plan.parts, "travel": plan.parts.get("travel", 0) + int(rng.integers(-5, 6))})
    if kind < 0.09:
        return replace(plan, left_out=(*plan.left_out, problem.orders[0].id, *plan.left_out[:1]))
    number = int(rng.integers(0, len(plan.visits)))
    visit, others = plan.visits[number], plan.visits[:number] + plan.visits[number + 1 :]
    if kind < 0.14:
        return replace(plan, visits=others, left_out=(*plan.left_out, *(j.order for j in visit.jobs if rng.random() < 0.8)))
    if kind < 0.22:
        return _ride_along(plan, visit, others)
    change = CHANGES[int(rng.integers(0, len(CHANGES)))]
    return replace(plan, visits=(*others, change(rng, problem, visit)))


def _ride_along(plan: Plan, visit: Visit, others: tuple[Visit, ...]) -> Plan:
    """The visit's jobs join another one on the same turbine."""
    for i, other in enumerate(others):
        if other.turbine == visit.turbine:
            joined = replace(other, jobs=other.jobs + visit.jobs)
            return replace(plan, visits=(*others[:i], joined, *others[i + 1 :]))
    return plan


def _people(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    count = min(len(problem.people), int(rng.integers(1, 5)))
    people = tuple(problem.people[int(i)].id for i in rng.choice(len(problem.people), count, replace=False))
    return replace(visit, people=people)


def _one_person(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    new = problem.people[int(rng.integers(0, len(problem.people)))].id
    kept = visit.people[1:] if rng.random() < 0.6 else visit.people
    return replace(visit, people=(*kept, new))


def _start(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, start=visit.start + int(rng.choice([-2, -1, 1, 2])))


def _day(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, day=int(rng.integers(0, len(problem.days))))


def _slots(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, slots=max(1, visit.slots + int(rng.choice([-1, 1]))))


def _team(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, team=int(rng.integers(0, 3)))


def _vehicle(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, vehicle=problem.vehicles[int(rng.integers(0, len(problem.vehicles)))].id)


def _chance(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, chance=float(rng.choice([0.0, 0.25, 0.5, 0.75, 1.0, float("nan")])))


def _by(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    return replace(visit, by=str(rng.choice(["lift", "ladder", "none"])))


def _job(rng: np.random.Generator, problem: Problem, visit: Visit) -> Visit:
    first = visit.jobs[0]
    changed = replace(first, work_min=first.work_min + 15) if rng.random() < 0.5 else replace(first, visit=first.visit + 1)
    return replace(visit, jobs=(changed, *visit.jobs[1:]))


CHANGES: tuple[Change, ...] = (
    _people,
    _one_person,
    _one_person,
    _start,
    _start,
    _day,
    _slots,
    _team,
    _vehicle,
    _chance,
    _by,
    _job,
)
