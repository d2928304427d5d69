"""More ways for the random small problems: splits of one team size, limits of equipment, curing times, prices of bringing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.problem import Mode, Order, Problem


def with_ways(seed: int, problem: Problem) -> Problem:
    """The problem with each of these in some of its orders; drawn beside everything else, so that the rest stays as it was."""
    rng = np.random.default_rng([seed, 72])
    orders = tuple(_order(rng, order, len(problem.days)) for order in problem.orders)
    weights = tuple(float(w) for w in np.sort(rng.uniform(0.3, 1.0, len(problem.days)))[::-1])
    mobilise = int(rng.integers(2_000, 40_000)) if rng.random() < 0.5 else 0
    equipment = tuple(replace(piece, mobilise_cost=mobilise) for piece in problem.equipment)
    return replace(problem, orders=orders, equipment=equipment, day_weight=weights if rng.random() < 0.5 else ())


def _order(rng: np.random.Generator, order: Order, days: int) -> Order:
    number = int(order.id[1:])
    if number and not order.after and rng.random() < 0.12:
        order = replace(order, after=(f"W{number - 1}",))
    gap = int(rng.choice([60, 240, 1080, 1500])) if order.after and rng.random() < 0.7 else 0
    also = ("tight",) if order.window == "calm" and rng.random() < 0.2 else ()
    split = days > 1 and rng.random() < 0.25
    return replace(order, after_gap_min=gap, also=also, modes=_split(rng, order.modes) if split else order.modes)


def _split(rng: np.random.Generator, modes: tuple[Mode, ...]) -> tuple[Mode, ...]:
    """The modes and one more with the team of the first: the same work in other visits."""
    first = modes[0]
    total = sum(first.visits_min)
    if len(first.visits_min) > 1:
        other = (total,) if rng.random() < 0.5 else (total - 30, 30)
    else:
        long = max(15, 15 * int(rng.integers(1, 4)))
        other = (max(15, total - long), long)
    return (*modes, Mode(first.team, other)) if other != first.visits_min else modes
