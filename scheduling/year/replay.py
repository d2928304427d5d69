"""A round gone through week by week in each past year: what does not fit is carried into the next week.

The rule is a foreman's: carried work first, then this week's by due date; each item gets what the week still holds of
hours in which its limit set holds. An item goes on only in weeks in which it may be worked (`Item.weeks`), though a
statutory one may pass its close here, since that is what the replay is to find out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.year.plan import Plan
from scheduling.year.problem import Problem
from scheduling.year.tables import Floats, Tables, tables

DONE = 1e-9


@dataclass(frozen=True)
class Replay:
    """`finish`: item id -> week index in which it is finished, per past year; `never` (= number of weeks) if it is not."""

    finish: dict[str, NDArray[np.int64]]
    never: int

    def met_share(self, item: str, week: int) -> float:
        """Share of the past years in which `item` is finished by the end of `week`, within the horizon."""
        weeks = self.finish[item]
        return float(((weeks <= week) & (weeks < self.never)).mean())

    def round_finish(self) -> NDArray[np.int64]:
        """[scenarios] week in which the last item is finished; `never` where one is not, -1 for an empty round."""
        rows = list(self.finish.values())
        return np.max(rows, axis=0) if rows else np.full(0, -1, dtype=np.int64)


def replay(problem: Problem, plan: Plan) -> Replay:
    """Go through a round in every past year (one undisturbed year where there is no history)."""
    t = tables(problem)
    never = len(problem.weeks)
    week_of = {t.index[p.item]: p.week for p in plan.placements if not p.with_item}
    queue = sorted(week_of, key=lambda i: (week_of[i], problem.items[i].due, i))
    left = {i: np.ones(t.scenarios) for i in queue}
    finish = {i: np.full(t.scenarios, never, dtype=np.int64) for i in queue}
    for week in range(never):
        room = t.share[:, :, week, None] * t.capacity[week]
        for i in [i for i in queue if week_of[i] <= week and week in t.problem.items[i].weeks and i in left]:
            left[i] = left[i] - _work(t, room, i, week, left[i])
            finish[i][(left[i] <= DONE) & (finish[i] == never)] = week
            if (left[i] <= DONE).all():
                del left[i]
    found = {problem.items[i].id: weeks for i, weeks in finish.items()}
    absorbed = {p.item: found[p.with_item] for p in plan.placements if p.with_item}
    return Replay(found | absorbed, never)


def _work(t: Tables, room: Floats, i: int, week: int, left: Floats) -> Floats:
    """[scenarios] share of item `i` done this week; takes its hours out of `room` [limits, scenarios, groups].

    `room` holds, for each limit set, the hours still free in which it holds; work under one limit set also uses up hours
    of every looser one.
    """
    share = t.share[:, :, week]
    looser = share >= share[t.limit_of[i]]
    groups = np.flatnonzero(t.load[i])
    free = np.where(looser[:, :, None], room[:, :, groups], np.inf).min(axis=0)
    done: Floats = np.minimum(left, (np.maximum(free, 0.0) / t.load[i, groups]).min(axis=1))
    room[:, :, groups] -= np.where(looser, done, 0.0)[:, :, None] * t.load[i, groups]
    return done
