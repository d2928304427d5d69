"""Random small problems in which a team that is up must be within reach of rescuers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.problem import Problem


def with_cover(seed: int, problem: Problem) -> Problem:
    """The problem under a rule of 10 to 40 minutes; a group stands by at the base on some days of most problems."""
    rng = np.random.default_rng([seed, 79])
    days = tuple(d for d in range(len(problem.days)) if rng.random() < 0.4)
    rules = replace(problem.rules, cover_min=int(rng.choice([10, 15, 25, 40])))
    orders = tuple(replace(order, pins=()) for order in problem.orders)
    return replace(problem, rules=rules, orders=orders, standby_days=days if rng.random() < 0.6 else ())
