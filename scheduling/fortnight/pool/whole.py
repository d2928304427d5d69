"""Whole numbers over the columns that may matter, by HiGHS: plans, and a bound that the linear problem cannot give.

Every column whose reduced cost is below a limit is taken in. A plan that uses another one costs at least the linear optimum
plus that limit (less what its other columns may still save), so the smaller of that and HiGHS's own bound holds for every plan.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import highspy
import numpy as np

from scheduling.fortnight.pool.master import PoolMaster
from scheduling.fortnight.rows import EURO, INF, quiet

MANY = 40
"""Columns of a day taken in at a time."""

MOST_NEAR = 9000
GAP = 2e-4
OnPlan = Callable[[list[int], float], None]


def whole_numbers(master: PoolMaster, best: list[int], seconds: float, seed: int, on_plan: OnPlan) -> float:
    """Seek whole plans for so many seconds, from the columns of the best one known; gives a bound in cents.

    `on_plan(columns, cents)` is called at each better plan. No column may help the linear problem any more.
    """
    while master.round(MANY) < -1.0:
        pass
    if not master.solved():
        return -INF
    floor, near = master.near(master.solve(), MOST_NEAR)
    master.take_near(near)
    highs = quiet(1, seed)
    highs.setOptionValue("time_limit", max(0.5, seconds))
    highs.setOptionValue("mip_rel_gap", GAP)
    highs.passModel(_whole(master))
    first = master.rows.columns
    if best:
        highs.setSolution(len(best), np.array(best, np.int32) + first, np.ones(len(best)))

    def better(event: Any) -> None:
        share = np.array(event.data_out.mip_solution)[first:]
        on_plan(np.flatnonzero(share > 0.5).tolist(), event.data_out.objective_function_value * EURO)

    highs.cbMipImprovingSolution += better
    highs.run()
    return min(highs.getInfo().mip_dual_bound * EURO, floor)


def _whole(master: PoolMaster) -> highspy.HighsLp:
    """The master's columns, whole where plans have them."""
    lp = master.highs.getLp()
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    lp.integrality_ = [kinds[int(w)] for w in master.rows.whole()] + [kinds[1]] * len(master.columns)
    return lp
