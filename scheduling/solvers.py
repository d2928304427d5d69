"""One table of what can be solved: how to read the problem, solve it, and write the plan. No Django.

A solver module is imported only when a solve begins: a worker that forks must not have started a solver's threads before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any, Protocol


class Result(Protocol):
    """What both solvers give back (fortnight/plan.py and year/plan.py)."""

    @property
    def status(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def plan(self) -> Any: ...
    @property
    def bound(self) -> float: ...
    @property
    def seconds(self) -> float: ...
    @property
    def gap(self) -> float: ...
    @property
    def versions(self) -> Mapping[str, str]: ...


STARTS = ("", "published")


@dataclass(frozen=True)
class Limits:
    """How long and how far to solve. `gap` is the relative gap at which to stop.

    `start`: "published" mends the published plan (fortnight/repair.py); "" looks for the best plan, of which the published
    one is a first try.
    """

    time_limit_s: float
    gap: float
    seed: int
    threads: int
    start: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.time_limit_s < math.inf:
            raise ValueError(f"time_limit_s is {self.time_limit_s}: give seconds above 0")
        if not 0 <= self.gap < 1:
            raise ValueError(f"gap is {self.gap}: give a share of at least 0 and below 1, for example 0.01")
        if self.seed < 0 or self.threads < 1:
            raise ValueError("seed must be 0 or more, threads 1 or more")
        if self.start not in STARTS:
            raise ValueError(f"start is {self.start!r}: give {STARTS[1]!r}, or leave it out")


@dataclass(frozen=True)
class Step:
    """An improvement while solving: seconds since the start, value and proven bound in cents, and the plan where it is known."""

    seconds: float
    value: float
    bound: float
    plan: Any = None


OnStep = Callable[[Step], None]
ShouldStop = Callable[[], bool]


@dataclass(frozen=True)
class Solver:
    """One kind of problem. `read` raises ValueError with one sentence; `solve` never raises for a hard case."""

    read: Callable[[Any], Any]
    solve: Callable[[Any, Limits, OnStep, ShouldStop], Result]
    write: Callable[[Any], dict[str, Any]]
    read_plan: Callable[[Any], Any]
    check: Callable[[Any, Any], tuple[Any, ...]]


def _fortnight() -> Solver:
    from scheduling.fortnight import check, plan, problem

    def solve(task: Any, limits: Limits, on_step: OnStep, should_stop: ShouldStop) -> Result:
        from scheduling.fortnight import repair as mending
        from scheduling.fortnight import solve as solving
        from scheduling.fortnight.told import told_plan

        params = solving.Params(time_limit_s=limits.time_limit_s, gap=limits.gap, threads=limits.threads, seed=limits.seed)
        if limits.start:
            return mending.repair(task, params, lambda *told: on_step(Step(*told)), should_stop)
        return solving.solve(task, params, lambda *told: on_step(Step(*told)), should_stop, told_plan(task))

    return Solver(problem.problem_from_json, solve, plan.plan_to_json, plan.plan_from_json, check.check)


def _year() -> Solver:
    from scheduling.year import check, plan, problem

    def solve(task: Any, limits: Limits, on_step: OnStep, should_stop: ShouldStop) -> Result:
        from scheduling.year import solve as solving

        params = solving.Params(time_limit_s=limits.time_limit_s, gap=limits.gap, threads=limits.threads, seed=limits.seed)
        return solving.solve(task, params, progress=lambda *told: on_step(Step(*told)), should_stop=should_stop)

    return Solver(problem.problem_from_json, solve, plan.plan_to_json, plan.plan_from_json, check.check)


SOLVERS: dict[str, Callable[[], Solver]] = {"fortnight": _fortnight, "year": _year}


def solver_for(kind: str) -> Solver:
    """The solver of a kind of problem. ValueError names the known kinds."""
    if kind not in SOLVERS:
        raise ValueError(f"kind is {kind!r}: known are {', '.join(SOLVERS)}")
    return SOLVERS[kind]()


def versions_here() -> dict[str, str]:
    """Versions a replay of a run needs to know."""
    return {name: version(name) for name in ("ortools", "highspy", "numpy")}


def money(cents: float) -> float | None:
    """Cents as currency units; None for "no bound yet" (infinite), which neither JSON nor a page can show."""
    return round(cents / 100, 2) if math.isfinite(cents) else None
