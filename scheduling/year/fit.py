"""Which past years a week's work must fit in, so that it fits in enough of them.

A year that is at least as calm as another for every limit set fits whatever the other fits. With one limit set the years
stand in a row, and the rule is plain: the `count`-th calmest must fit. With several, some years stay open to choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import NDArray

from scheduling.year.tables import Floats, Tables

UNIT_H = 1e-4
MOST_STEPS = 200_000


@dataclass(frozen=True)
class Fit:
    """For one week: years that must fit, open years with the most work that could be undone in them, and how many of those."""

    must: frozenset[int]
    open: dict[int, float]
    count: int

    @classmethod
    def free(cls, scenarios: int) -> Fit:
        """No year has to fit."""
        return cls(frozenset(), {}, 0)


def fit_of_week(t: Tables, week: int, most: Floats) -> Fit:
    """The years of a week. `most` [G]: all the work that could stand in it."""
    share, need = t.share[:, :, week], t.need_fit
    calmer = _calmer(share)
    # If fewer than `need` years can fit while this one does not, it must fit; if `need` calmer ones exist, they do instead.
    must = {s for s in range(t.scenarios) if t.scenarios - calmer[:, s].sum() <= need}
    never = {s for s in range(t.scenarios) if calmer[s].sum() >= need and s not in must}
    left = [s for s in range(t.scenarios) if s not in must and s not in never]
    count = need - len(must)
    if count <= 0:
        return Fit(frozenset(must), {}, 0)
    if count == len(left):
        return Fit(frozenset(must) | set(left), {}, 0)
    return Fit(frozenset(must), {s: _most_undone(share, t.capacity[week], most, s, need) for s in left}, count)


def _calmer(share: Floats) -> NDArray[np.bool_]:
    """[S, S]: entry (s, o) is True if year o is at least as calm as year s for every limit set; equals by number."""
    at_least = (share[:, None, :] >= share[:, :, None]).all(axis=0)
    equal = at_least & at_least.T
    earlier = np.tri(share.shape[1], k=-1, dtype=bool)
    result: NDArray[np.bool_] = at_least & (~equal | earlier)
    return result


def _most_undone(share: Floats, capacity: Floats, most: Floats, s: int, need: int) -> float:
    """Person-hours that could be undone in year s if the work fits in `need` years."""
    worst = 0.0
    for level in set(share[:, s].tolist()):
        holds = np.sort(share[share[:, s] <= level].max(axis=0))[::-1][need - 1]
        room = np.minimum(capacity * holds, most)
        worst = max(worst, float((room - capacity * level).max()))
    return worst


def reachable_h(loads: list[float], room: float) -> float:
    """The most person-hours at or below `room` that some of the `loads` add up to; `room` itself if they are no plain numbers.

    Whole items leave a rest: of 36 h each, 240 h take six, so 216 h. Saying so to the solver closes most of its gap.
    """
    whole = [round(load / UNIT_H) for load in loads]
    if any(abs(units * UNIT_H - load) > 1e-9 for units, load in zip(whole, loads, strict=True)):
        return room
    step = gcd(*whole)
    most = int((room / UNIT_H + 1e-6) // step) if step else 0
    if not step or most > MOST_STEPS:
        return room
    sums, mask = 1, (1 << (most + 1)) - 1
    for units in whole:
        sums |= (sums << (units // step)) & mask
    return (sums.bit_length() - 1) * step * UNIT_H


def room_in_enough_years(t: Tables, week: int, limits: list[int]) -> float:
    """Share of the capacity that work under these limit sets can take at most, if it is to fit in enough years."""
    best = np.sort(t.share[limits, :, week].max(axis=0))[::-1]
    return float(best[t.need_fit - 1])
