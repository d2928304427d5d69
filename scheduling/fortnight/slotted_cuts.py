"""Rows that the time-indexed model only gets where its linear relaxation breaks them: a team does one of what clashes.

Visits of a day in a cluster clash when they are of one order or overlap. So, for any order and any interval of slots: the
order's visits that touch the interval and the others' visits that last all through it clash each with each, and there are at most
as many of them as teams. The rows of in_each_slot are for one slot; those of longer intervals keep the relaxation from spreading
an order over the parts of a day and counting half a team. There are too many to have them all.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy
import numpy as np

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.rows import INF, quiet

if TYPE_CHECKING:
    from scheduling.fortnight.slotted_model import Place, SlottedModel

BROKEN, RISE = 0.02, 2e-4
"""A row is added when it is broken by more than the first; rounds end when the optimum rises by a smaller share than this."""

MOST_ROUNDS, MOST_ROWS = 12, 600
"""Rounds, and rows added in one."""


@dataclass(frozen=True)
class Counted:
    """At any time at most as many of these stays of a place (a mask, by stay) as `column` says, or one where there is none."""

    place: Place
    stays: Ints
    column: int | None


@dataclass(frozen=True)
class Cut:
    """Columns that add up to at most `column`, or to one; by how much they did not."""

    broken: float
    columns: Ints
    column: int | None


def cuts(m: SlottedModel, value: Floats) -> list[Cut]:
    """Rows that the values break, the worst first, at most one for each thing counted and interval."""
    share = {id(p): np.bincount(p.of, value[m.x[p.run]], len(p.kinds)).astype(np.float64) for p in m.places}
    found = [cut for counted in m.counted for cut in _of(m, counted, share[id(counted.place)], value)]
    return sorted(found, key=lambda cut: -cut.broken)[:MOST_ROWS]


def _of(m: SlottedModel, counted: Counted, share: Floats, value: Floats) -> Iterator[Cut]:
    """Those of one thing counted: for each interval of two slots or more, the order by which the row is broken most."""
    place, stays = counted.place, np.flatnonzero(counted.stays)
    share, start, end = share[stays], place.start[stays], place.end[stays]
    most = 1.0 if counted.column is None else float(value[counted.column])
    if share.sum() <= most + BROKEN:
        return
    order = np.array([kind.jobs[0][0] for kind in place.kinds])[stays]
    slots = range(int(start.min()), int(end.max()))
    for a, b in ((a, b) for a in slots for b in slots if a < b):
        touches, through = (start <= b) & (a < end), (start <= a) & (b < end)
        gain = np.bincount(order[touches & ~through], share[touches & ~through], 1)
        best = int(gain.argmax())
        broken = float(gain[best] + share[through].sum()) - most
        if gain[best] > BROKEN and broken > BROKEN:
            chosen = np.zeros(len(place.kinds), bool)
            chosen[stays] = through | (touches & (order == best))
            yield Cut(broken, m.x[place.run[chosen[place.of]]], counted.column)


def add(m: SlottedModel, cut: Cut) -> None:
    """Put the row into the model."""
    row = m.rows.add_row(-INF, 1.0 if cut.column is None else 0.0, cut.columns)
    if cut.column is not None:
        m.rows.put(row, cut.column, -1.0)


@dataclass(frozen=True)
class Relaxed:
    """The optimum of the linear relaxation and what each column costs more than its use of the rows is worth."""

    cost: float
    reduced: Floats


def tighten(m: SlottedModel, seconds: float, seed: int = 0) -> Relaxed | None:
    """Add rows to the model while they raise the relaxation; its optimum, or None when even the first took too long."""
    until, found = time.monotonic() + seconds, None
    highs = quiet(1, seed)
    highs.passModel(m.rows.model(0.0, integer=False))
    for _ in range(MOST_ROUNDS):
        highs.setOptionValue("time_limit", highs.getRunTime() + max(0.2, until - time.monotonic()))
        highs.run()
        if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            break
        solution, cost = highs.getSolution(), float(highs.getInfo().objective_function_value)
        small = found is not None and cost - found.cost < RISE * abs(cost)
        found = Relaxed(cost, np.asarray(solution.col_dual))
        more = [] if small or time.monotonic() > until else cuts(m, np.asarray(solution.col_value))
        if not more:
            break
        for cut in more:
            add(m, cut)
            _hand_over(highs, cut)
    return found


def _hand_over(highs: highspy.Highs, cut: Cut) -> None:
    columns, values = cut.columns.astype(np.int32), np.ones(len(cut.columns))
    if cut.column is None:
        highs.addRow(-INF, 1.0, len(columns), columns, values)
    else:
        highs.addRow(-INF, 0.0, len(columns) + 1, np.append(columns, np.int32(cut.column)), np.append(values, -1.0))
