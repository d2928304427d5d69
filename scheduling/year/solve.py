"""Lay a round: first plans by rule of thumb, then the mixed-integer program, then the plan read back and priced again."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version

from scheduling.year.board import first_plans
from scheduling.year.check import check
from scheduling.year.descent import Descent
from scheduling.year.explain import clashing_pins, result_text, warnings_of
from scheduling.year.mip import INF, Outcome, run
from scheduling.year.model import Model
from scheduling.year.money import finished_plan, least_cost
from scheduling.year.plan import Plan, Result
from scheduling.year.problem import Problem
from scheduling.year.search import laid_from, rounded, tear_and_lay
from scheduling.year.tables import Tables, tables

Progress = Callable[[float, int, float], None]
"""Called with (seconds, value of the best round so far, proven bound), both in cents."""


EXACT = 8_000
"""Up to so many choices the program is solved as a whole; beyond, its relaxation guides the search."""

TELL_EVERY_S = 0.2


@dataclass(frozen=True)
class Params:
    """How long and how far to solve. `gap` is the relative gap at which to stop."""

    time_limit_s: float = 20.0
    gap: float = 0.001
    threads: int = 2
    seed: int = 1

    def __post_init__(self) -> None:
        if not self.time_limit_s > 0 or not self.gap >= 0 or not self.threads >= 1 or not self.seed >= 0:
            raise ValueError("params: time_limit_s must be above 0, gap and seed 0 or more, threads 1 or more")


def solve(
    problem: Problem,
    params: Params | None = None,
    *,
    hint: Plan | None = None,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> Result:
    """Lay the items of `problem` into weeks at the least cost (parts and rules in rules.py).

    hint         a round to start from (for example the last issue); used if it still keeps the rules and is cheapest
    progress     told of the best value and the bound about five times a second
    should_stop  asked as often; True ends the solve with the best round so far

    Never raises for a hard case: infeasible, stopped and out of time are results with a text.
    """
    return _Solve(problem, params or Params(), hint, progress, should_stop).result()


class _Solve:
    def __init__(
        self,
        problem: Problem,
        params: Params,
        hint: Plan | None,
        progress: Progress | None,
        should_stop: Callable[[], bool] | None,
    ) -> None:
        self.began = time.perf_counter()
        self.params = params
        self.progress, self.should_stop = progress, should_stop
        self.t: Tables = tables(problem)
        self.best: Plan | None = None
        self.bound = -INF
        self.trace: list[tuple[float, int, float]] = []
        self._hint = hint
        self._told_at = self._asked_at = -INF
        self._stopped = False

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self.began

    def result(self) -> Result:
        if not self.t.problem.items:
            return self._finish("empty")
        self.bound = least_cost(self.t)
        for plan in (*first_plans(self.t), *self._usable_hint()):
            self._offer(plan)
            self._offer(Descent(self.t, plan).run(self._until(0.2)))
        model = Model(self.t).build()
        if len(model.alone) + len(model.absorbed) <= EXACT:
            return self._finish(self._read(model, self._run(model)))
        return self._finish(self._large(model))

    def _run(self, model: Model, *, share: float = 1.0, relax: bool = False) -> Outcome:
        """The program itself or its relaxation, within this share of the time that is left."""
        outcome = run(
            model.mip,
            seconds=max(0.05, share * (self.params.time_limit_s - self.seconds)),
            gap=self.params.gap,
            threads=self.params.threads,
            seed=self.params.seed,
            start=None if relax or self.best is None else model.start(self.best),
            relax=relax,
            watch=self._watch,
        )
        if outcome.ended == "error":
            raise RuntimeError("the solver gave up with an error; keep the stored problem, it shows a fault of the model")
        return outcome

    def _large(self, model: Model) -> str:
        """Bound and advice from the relaxation, the rest of the time to laying again."""
        outcome = self._run(model, share=0.5, relax=True)
        if outcome.ended == "infeasible":
            return "infeasible"
        if outcome.ended == "optimal" and outcome.values is not None:
            self.bound = max(self.bound, outcome.bound)
            for advice in rounded(model, outcome.values):
                self._offer(laid_from(self.t, advice, self._until(0.8)))
        if self.best is not None:
            self._offer(tear_and_lay(self.t, self.best, self.params.seed, self._until(1.0), self._offer))
        if self._near_enough():
            return "gap reached"
        return "stopped" if self._asked_to_stop() else "out of time"

    def _until(self, share: float) -> Callable[[], bool]:
        """True while this share of the time is not used up, nobody asks to stop, and the gap is not reached."""

        def go_on() -> bool:
            self._watch(INF, -INF)
            in_time = self.seconds < share * self.params.time_limit_s
            return in_time and not self._asked_to_stop() and not self._near_enough()

        return go_on

    def _asked_to_stop(self) -> bool:
        """Ask, but not more often than every fifth of a second, and never again after a yes."""
        due = self.seconds - self._asked_at >= TELL_EVERY_S
        if self.should_stop is not None and due and not self._stopped:
            self._asked_at = self.seconds
            self._stopped = self.should_stop()
        return self._stopped

    def _near_enough(self) -> bool:
        return self.best is not None and self.best.value - self.bound <= self.params.gap * abs(self.best.value)

    def _usable_hint(self) -> list[Plan]:
        """The hint priced for this problem, if it still keeps every rule."""
        if self._hint is None or any(v.rule == "known" for v in check(self.t.problem, self._hint)):
            return []
        placed = {self.t.index[p.item]: p for p in self._hint.placements}
        plan = finished_plan(self.t, placed, self._hint.left_out)
        return [] if check(self.t.problem, plan) else [plan]

    def _offer(self, plan: Plan) -> None:
        if self.best is None or plan.value < self.best.value:
            self.best = plan

    def _watch(self, value: float, bound: float) -> bool:
        """Note how far the solve is; True asks to stop."""
        self.bound = max(self.bound, bound) if abs(bound) < 1e30 else self.bound
        if self.best is not None and self.seconds - self._told_at >= TELL_EVERY_S:
            self._told_at = self.seconds
            best = min(self.best.value, round(value)) if abs(value) < 1e30 else self.best.value
            point = (round(self.seconds, 2), best, self.bound)
            if not self.trace or self.trace[-1][1:] != point[1:]:
                self.trace.append(point)
            if self.progress is not None:
                self.progress(*point)
        return self._asked_to_stop()

    def _read(self, model: Model, outcome: Outcome) -> str:
        """Take over plan and bound; gives the status."""
        self.bound = max(self.bound, outcome.bound)
        if outcome.ended == "infeasible":
            return "infeasible"
        if outcome.values is not None:
            self._offer(finished_plan(self.t, *model.read(outcome.values)))
        if self.best is None:
            return "stopped" if outcome.ended == "stopped" else "out of time"
        if outcome.ended == "optimal":
            return "optimal" if self.best.value - self.bound <= 1e-6 * abs(self.best.value) + 5.0 else "gap reached"
        return "stopped" if outcome.ended == "stopped" else "out of time"

    def _finish(self, status: str) -> Result:
        problem = self.t.problem
        nothing = Plan((), tuple(item.id for item in problem.items))
        plan = nothing if self.best is None or status == "infeasible" else self.best
        bound = min(self.bound, float(plan.value)) if status not in ("infeasible", "empty") else float(plan.value)
        clashes = clashing_pins(problem) if status == "infeasible" else ()
        return Result(
            status=status,
            text=result_text(problem, plan, status, bound, self.seconds, clashes),
            plan=plan,
            bound=bound,
            seconds=self.seconds,
            warnings=warnings_of(problem),
            trace=tuple(self.trace),
            versions={"highspy": version("highspy")},
        )
