"""A mixed-integer program put together row by row and solved by HiGHS called directly.

HiGHS keeps its best solution and its proven bound at a time limit, and values are read only where it says it has a
solution: reading them otherwise gives zeros without an error.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Watch = Callable[[float, float], bool]
"""Called with (best value or inf, proven bound or -inf) while the solver runs; True asks it to stop."""

INF = float("inf")


@dataclass(frozen=True)
class Outcome:
    """How a run ended: optimal, time, stopped, infeasible or error. `values` is None where there is no solution."""

    ended: str
    values: Floats | None
    value: float
    bound: float
    seconds: float


@dataclass
class Mip:
    """min cost @ x + offset, lower <= x <= upper, some x whole, row_lower <= rows <= row_upper."""

    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)

    def add_var(self, cost: float = 0.0, upper: float = 1.0, lower: float = 0.0, whole: bool = False) -> int:
        """A new variable; returns its number."""
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def add_row(self, terms: Sequence[tuple[int, float]], lower: float = -INF, upper: float = INF) -> None:
        """A new row of (variable, factor) terms; each variable at most once."""
        self.columns.extend(column for column, _ in terms)
        self.factors.extend(factor for _, factor in terms)
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)

    def lp(self, fixed: dict[int, float] | None = None, relax: bool = False) -> highspy.HighsLp:
        """The same program as HiGHS takes it; `fixed` variables stand at a value, `relax` lets all be fractions."""
        held = np.array(list(fixed or {}), dtype=np.int64)
        lower, upper = np.array(self.lower), np.array(self.upper)
        lower[held] = upper[held] = list((fixed or {}).values())
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.cost), len(self.row_lower)
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = np.array(self.cost), lower, upper
        lp.row_lower_, lp.row_upper_ = np.array(self.row_lower), np.array(self.row_upper)
        if not relax:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[int(w)] for w in self.whole]
        matrix = lp.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.num_col_, matrix.num_row_ = lp.num_col_, lp.num_row_
        matrix.start_, matrix.index_ = np.array(self.starts, dtype=np.int32), np.array(self.columns, dtype=np.int32)
        matrix.value_ = np.array(self.factors, dtype=float)
        return lp


def run(
    mip: Mip,
    *,
    seconds: float,
    gap: float,
    threads: int,
    seed: int,
    watch: Watch,
    start: dict[int, float] | None = None,
    fixed: dict[int, float] | None = None,
    relax: bool = False,
) -> Outcome:
    """Solve `mip` within `seconds` to the relative `gap`.

    start   variable -> value of a solution to begin with; HiGHS works out the variables not named
    fixed   variable -> value it is held at: the outcome is of that smaller program, and so is its bound
    relax   solve the linear relaxation
    """
    began = time.perf_counter()
    highs = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in _options(seconds, gap, threads, seed).items():
        highs.setOptionValue(option, value)
    highs.passModel(mip.lp(fixed, relax))
    if start:
        highs.setSolution(len(start), np.array(list(start), dtype=np.int32), np.array(list(start.values())))
    stopped = _watch(highs, watch)
    if highs.run() == highspy.HighsStatus.kError:
        # HiGHS keeps its threads for the whole process and refuses another number than the first run asked for.
        highs.resetGlobalScheduler(True)
        highs.run()
    return _outcome(highs, any(mip.whole) and not relax, bool(stopped), time.perf_counter() - began)


def _options(seconds: float, gap: float, threads: int, seed: int) -> dict[str, float | int | bool | str]:
    return {
        "output_flag": False,
        "log_to_console": False,
        "time_limit": max(0.0, seconds),
        "mip_rel_gap": gap,
        "mip_abs_gap": 1e-6,
        "threads": threads,
        "random_seed": seed,
    }


def _watch(highs: highspy.Highs, watch: Watch) -> list[bool]:
    """Ask `watch` now and then whether to go on; the list returned is non-empty once it said stop."""
    stopped: list[bool] = []
    last = [-INF]

    def look(event: highspy.highs.HighsCallbackEvent) -> None:
        now = time.perf_counter()
        if not stopped and now - last[0] >= 0.2:
            last[0] = now
            inside = event.callback_type == highspy.cb.HighsCallbackType.kCallbackMipInterrupt
            value, bound = (event.data_out.mip_primal_bound, event.data_out.mip_dual_bound) if inside else (INF, -INF)
            if watch(value, bound):
                stopped.append(True)
        if stopped:
            event.interrupt()

    highs.cbMipInterrupt.subscribe(look)
    highs.cbSimplexInterrupt.subscribe(look)
    highs.enableCallbacks()  # type: ignore[no-untyped-call]
    return stopped


def _outcome(highs: highspy.Highs, whole: bool, stopped: bool, seconds: float) -> Outcome:
    status, info = highs.getModelStatus(), highs.getInfo()
    ended = {
        highspy.HighsModelStatus.kOptimal: "optimal",
        highspy.HighsModelStatus.kTimeLimit: "time",
        highspy.HighsModelStatus.kInterrupt: "stopped",
        highspy.HighsModelStatus.kInfeasible: "infeasible",
        highspy.HighsModelStatus.kModelEmpty: "optimal",
    }.get(status, "error")
    solved = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = np.array(highs.getSolution().col_value) if solved else None
    proven = info.mip_dual_bound if whole else (info.objective_function_value if ended == "optimal" else -INF)
    bound = proven if abs(proven) < 1e30 else -INF
    return Outcome("stopped" if stopped and ended != "optimal" else ended, values, info.objective_function_value, bound, seconds)
