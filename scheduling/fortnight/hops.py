"""The least that travel can be, split into a share per team and a share per visit that no route can undercut.

A route costs the hops base, visits, base. With numbers b (base) and u_i >= 0 (turbine i) such that u_i + u_j <= hop(i, j) and
b + u_i <= hop(base, i), every route through visits i costs at least 2 b + sum of 2 u_i, save that going from one visit to
another on the same turbine costs nothing: such a step gives 2 u_i back (`daymodel.stay_on`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.rows import Rows, quiet


@dataclass(frozen=True)
class HopFloor:
    """Minutes per team (`team_min`) and per visit of each turbine (`visit_min`); least slots to anywhere else (`slots`)."""

    team_min: float
    visit_min: Floats
    slots: Ints


def hop_floor(facts: Facts) -> HopFloor:
    """The split that counts most for the turbines that have orders."""
    count = len(facts.problem.turbines)
    used = sorted(set(facts.own))
    slots = np.zeros(count, np.int64)
    for i in used:
        slots[i] = min([facts.hop_slots[i][j] for j in used if j != i], default=0)
    if not used:
        return HopFloor(0.0, np.zeros(count), slots)
    return _best_split(facts, used, slots)


def _best_split(facts: Facts, used: list[int], slots: Ints) -> HopFloor:
    orders = np.bincount(facts.own, minlength=len(facts.problem.turbines))
    rows = Rows()
    u = rows.add_columns(len(used), cost=[-float(orders[i]) for i in used], upper=1e6)
    b = int(rows.add_columns(1, cost=-0.45 * len(facts.own), upper=1e6)[0])
    hops = np.array(facts.hop_min, float)[np.ix_(used, used)]
    first, second = np.triu_indices(len(used), 1)
    pair = rows.add_rows(len(first), -1e9, hops[first, second])
    rows.put(pair, u[first], 1.0)
    rows.put(pair, u[second], 1.0)
    home = rows.add_rows(len(used), -1e9, [float(facts.base_min[i]) for i in used])
    rows.put(home, u, 1.0)
    rows.put(home, b, 1.0)
    highs = quiet(1, 0)
    highs.passModel(rows.model(0.0, integer=False))
    highs.run()
    value = np.array(highs.getSolution().col_value)
    visit = np.zeros(len(orders))
    if len(value) == rows.columns:
        value = np.floor(np.maximum(value, 0.0) * 1e6) / 1e6
        visit[used] = 2 * np.maximum(0.0, value[u] - 2e-6)
        return HopFloor(2 * max(0.0, float(value[b]) - 2e-6), visit, slots)
    return HopFloor(2.0 * min(facts.base_min[i] for i in used), visit, slots)
