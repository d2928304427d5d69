"""Windows and members for a fleet, beside a plain Python loop over a part of the same work measured in the same run."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter
from typing import Any

import numpy as np

from scheduling.access import Field, Limit, LimitSet, chance, workable
from scheduling.weather.members import members_of

TURBINES, MEMBERS, SLOTS, STAY_SLOTS = 200, 20, 14 * 48, 12
LIMITS_MPS = (8.0, 10.0, 12.0, 15.0, 18.0)
#: The loop looks at this many turbines and one limit set; its time is scaled up to the whole.
LOOP_TURBINES = 2


CASES = ("windows", "members")


def run(case: str, seed: int) -> dict[str, Any]:
    """A row with `case`, `seed`, `seconds` and `ratio` (how many times longer the plain loop takes for the same work)."""
    if case == "members":
        return {"seed": seed, **_members(seed)}
    rng = np.random.default_rng(seed)
    return {"seed": seed, **_windows(rng.gamma(4.0, 2.2, (TURBINES, MEMBERS, SLOTS)).astype(np.float32))}


def _windows(wind: np.ndarray) -> dict[str, Any]:
    sets = [LimitSet(f"{value:g}", (Limit("wind", "<=", value),)) for value in LIMITS_MPS]
    fields = {"wind": Field(wind, "hub", 10.0)}
    seconds, chances = _timed(lambda: [chance(workable(fields, one), STAY_SLOTS) for one in sets])
    part, looped = _timed(lambda: _loop(wind[:LOOP_TURBINES], LIMITS_MPS[0]))
    if not np.allclose(chances[0][:LOOP_TURBINES], looped):
        raise AssertionError("the loop and the vectorised windows disagree")
    whole = part * TURBINES / LOOP_TURBINES * len(LIMITS_MPS)
    return _row(f"windows {TURBINES} turbines x 14 d x {MEMBERS} members x {len(LIMITS_MPS)} limit sets", seconds, whole)


def _loop(wind: np.ndarray, limit: float) -> list[list[float]]:
    """The same chances by hand: run lengths backwards, member by member."""
    out = []
    for turbine in wind.tolist():
        hits = [0] * SLOTS
        for member in turbine:
            run = 0
            for slot in range(SLOTS - 1, -1, -1):
                run = run + 1 if member[slot] <= limit else 0
                hits[slot] += run >= STAY_SLOTS
        out.append([hit / len(turbine) for hit in hits])
    return out


def _members(seed: int) -> dict[str, Any]:
    forecast = np.random.default_rng(seed).gamma(4.0, 2.2, (TURBINES, 240))
    lead = np.arange(240.0)
    seconds, _ = _timed(lambda: members_of(forecast, lead, count=50, seed=seed))
    part, _ = _timed(lambda: _members_loop(forecast[:LOOP_TURBINES], seed))
    return _row(f"members {TURBINES} turbines x 10 d x 50 members", seconds, part * TURBINES / LOOP_TURBINES)


def _members_loop(forecast: np.ndarray, seed: int) -> list[list[list[float]]]:
    rng = np.random.default_rng(seed)
    out = []
    for turbine in forecast.tolist():
        members = []
        for _ in range(50):
            error, member = 0.0, []
            for wind in turbine:
                error = 0.9 * error + 0.436 * rng.standard_normal()
                member.append(max(0.0, wind + 2.0 * error))
            members.append(member)
        out.append(members)
    return out


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = perf_counter()
    result = work()
    return perf_counter() - begun, result


def _row(case: str, seconds: float, loop_seconds: float) -> dict[str, Any]:
    return {"case": case, "seconds": round(seconds, 3), "ratio": round(loop_seconds / seconds, 1)}


if __name__ == "__main__":
    for name in CASES:
        print(run(name, 1))
