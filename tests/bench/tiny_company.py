"""Who goes with whom in random problems: hired people, preferred pairs, hand-overs, people told, people named for a visit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.check import check
from scheduling.fortnight.problem import Order, Person, Problem, PublishedVisit
from tests.bench.rule import rule_plan


def with_company(rng: np.random.Generator, problem: Problem) -> Problem:
    """The problem with each of these drawn in about a third of all seeds, at prices that matter beside the other costs."""
    if rng.random() < 0.35:
        problem = replace(problem, people=tuple(_hired(rng, person) for person in problem.people))
    if rng.random() < 0.35:
        problem = _with_preferred(rng, problem)
    if rng.random() < 0.5:
        problem = replace(problem, orders=tuple(_handed_over(rng, order) for order in problem.orders))
    if rng.random() < 0.6:
        problem = replace(problem, published=tuple(_told(rng, problem, visit) for visit in problem.published))
    return _with_crew(rng, problem) if rng.random() < 0.4 else problem


def _hired(rng: np.random.Generator, person: Person) -> Person:
    return replace(person, day_cost=int(rng.integers(1_000, 30_000))) if rng.random() < 0.5 else person


def _with_preferred(rng: np.random.Generator, problem: Problem) -> Problem:
    ids = [person.id for person in problem.people]
    pairs = [(a, b) for i, a in enumerate(ids) for b in ids[:i] if rng.random() < 0.4]
    return replace(problem, prefer=tuple(pairs), weights=replace(problem.weights, pair_apart=int(rng.integers(500, 12_000))))


def _handed_over(rng: np.random.Generator, order: Order) -> Order:
    return replace(order, hand_over_cost=int(rng.integers(1_000, 25_000))) if rng.random() < 0.7 else order


def _told(rng: np.random.Generator, problem: Problem, visit: PublishedVisit) -> PublishedVisit:
    """A price for each person, who are now and then others than the rule of thumb sends, or no longer there."""
    people = visit.people
    if rng.random() < 0.4:
        count = min(len(problem.people), int(rng.integers(2, 4)))
        people = tuple(problem.people[int(i)].id for i in rng.choice(len(problem.people), count, replace=False))
    people = (*people, "gone") if rng.random() < 0.15 else people
    return replace(visit, people=people, crew_cost=int(rng.integers(500, 8_000)))


def _with_crew(rng: np.random.Generator, problem: Problem) -> Problem:
    """One or two orders with people named for a visit; a pinned order keeps a plan that the rule of thumb finds."""
    for _ in range(int(rng.integers(1, 3))):
        number = int(rng.integers(0, len(problem.orders)))
        order = problem.orders[number]
        visit = int(rng.integers(0, max(len(mode.visits_min) for mode in order.modes)))
        who = rng.choice(len(problem.people), int(rng.integers(1, 3)), replace=False)
        named = replace(order, crew=((visit, tuple(problem.people[int(i)].id for i in who)),))
        changed = replace(problem, orders=(*problem.orders[:number], named, *problem.orders[number + 1 :]))
        if not any(v.rule == "pin" for v in check(changed, rule_plan(changed))):
            problem = changed
    return problem
