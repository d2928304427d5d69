"""Random small problems in which half of the people leave when the others come: long work is handed over or left out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.problem import Mode, Order, Person, Problem


def with_change_of_shift(seed: int, problem: Problem) -> Problem:
    """The problem, where it has the days and the people, with a change of shift and an order that meets it; no pins."""
    rng = np.random.default_rng([seed, 74])
    if len(problem.days) < 2 or len(problem.people) < 4:
        return problem
    people = tuple(_on_some_days(person, i % 2) for i, person in enumerate(problem.people))
    number = int(rng.integers(0, len(problem.orders)))
    orders = tuple(_long(rng, order, len(problem.days)) if i == number else order for i, order in enumerate(problem.orders))
    return replace(problem, people=people, orders=tuple(replace(order, pins=()) for order in orders))


def _on_some_days(person: Person, parity: int) -> Person:
    return replace(person, shifts=tuple(shift for shift in person.shifts if shift.day % 2 == parity))


def _long(rng: np.random.Generator, order: Order, days: int) -> Order:
    """Two visits on days in a row, dear to leave out, of any skill, and somewhat dear to hand over."""
    minutes = tuple(int(m) for m in rng.integers(2, 6, 2) * 15)
    return replace(
        order,
        modes=(Mode(2, minutes),),
        needs=(),
        also=(),
        after=(),
        after_gap_min=0,
        equipment=(),
        days=tuple(range(days)),
        max_gap_days=1,
        left_out_cost=order.left_out_cost + 200_000,
        hand_over_cost=int(rng.integers(1_000, 25_000)),
    )
