"""Random small problems of all kinds, so that every rule is broken and every part of the cost paid in a sample of them."""

from __future__ import annotations

from scheduling.fortnight.problem import Problem
from tests.bench.tiny_cases import random_small
from tests.bench.tiny_cover import with_cover
from tests.bench.tiny_shifts import with_change_of_shift


def random_mixed(seed: int) -> Problem:
    """A seeded problem of at most six orders: of ten one asks for rescue cover, two have a change of shift if they can."""
    problem = random_small(seed)
    if seed % 10 == 0:
        return with_cover(seed, problem)
    return with_change_of_shift(seed, problem) if seed % 5 == 3 else problem
