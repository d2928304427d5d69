"""Windows for a fleet, beside a plain Python loop over a part of the same work measured in the same run."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter
from typing import Any

import numpy as np

from scheduling.access import Field, Limit, LimitSet, chance, workable

TURBINES, STAY_SLOTS = 200, 12
LIMITS_MPS = (8.0, 10.0, 12.0, 15.0, 18.0)
#: The loop looks at this many turbines and one limit set; its time is scaled up to the whole.
LOOP_TURBINES = 2
CASES = {"windows": (20, 14), "fleet": (50, 10)}
"""name -> members, days in half hours."""


def run(case: str, seed: int) -> dict[str, Any]:
    """A row with `case`, `seed`, `seconds` and `ratio` (how many times longer the plain loop takes for the same work)."""
    members, days = CASES[case]
    wind = np.random.default_rng(seed).gamma(4.0, 2.2, (TURBINES, members, days * 48)).astype(np.float32)
    sets = [LimitSet(f"{value:g}", (Limit("wind", "<=", value),)) for value in LIMITS_MPS]
    fields = {"wind": Field(wind, "hub", 10.0)}
    seconds, chances = _timed(lambda: [chance(workable(fields, one), STAY_SLOTS) for one in sets])
    part, looped = _timed(lambda: _loop(wind[:LOOP_TURBINES], LIMITS_MPS[0]))
    if not np.allclose(chances[0][:LOOP_TURBINES], looped):
        raise AssertionError("the loop and the vectorised windows disagree")
    whole = part * TURBINES / LOOP_TURBINES * len(LIMITS_MPS)
    told = f"windows {TURBINES} turbines x {days} d x {members} members x {len(LIMITS_MPS)} limit sets"
    return {"case": told, "seed": seed, "seconds": round(seconds, 3), "ratio": round(whole / seconds, 1)}


def _loop(wind: np.ndarray, limit: float) -> list[list[float]]:
    """The same chances by hand: run lengths backwards, member by member."""
    out = []
    for turbine in wind.tolist():
        hits = [0] * wind.shape[-1]
        for member in turbine:
            run = 0
            for slot in range(wind.shape[-1] - 1, -1, -1):
                run = run + 1 if member[slot] <= limit else 0
                hits[slot] += run >= STAY_SLOTS
        out.append([hit / len(turbine) for hit in hits])
    return out


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = perf_counter()
    result = work()
    return perf_counter() - begun, result


if __name__ == "__main__":
    for name in CASES:
        print(run(name, 1))
