"""What a round costs, part by part, and how it goes in each past year: the solver's own reckoning, free of HiGHS.

The checker reckons again by code of its own.
"""

from __future__ import annotations

import numpy as np

from scheduling.year.plan import Placement, Plan
from scheduling.year.tables import Floats, Tables, undone_h


def week_load(t: Tables, placements: tuple[Placement, ...]) -> Floats:
    """[weeks, limits, groups] person-hours of the items done by themselves."""
    load = np.zeros((len(t.problem.weeks), t.share.shape[0], len(t.groups)))
    for placed in placements:
        if not placed.with_item:
            i = t.index[placed.item]
            load[placed.week, t.limit_of[i]] += t.load[i]
    return load


def undone_table(t: Tables, load: Floats) -> Floats:
    """[scenarios, weeks] person-hours that do not fit, from the loads of `week_load`."""
    columns = [undone_h(t.share[:, :, w], t.capacity[w], load[w]) for w in range(load.shape[0])]
    return np.array(columns).T.reshape(t.scenarios, load.shape[0])


def stop_hours(t: Tables, placements: tuple[Placement, ...]) -> list[tuple[int, int, float]]:
    """(item index, week, hours): stops of items done by themselves, and the hours their pairs save as negative ones."""
    alone = {placed.item: placed.week for placed in placements if not placed.with_item}
    hours = [(t.index[item], week, t.problem.items[t.index[item]].stop_h) for item, week in alone.items()]
    for pair in t.problem.together:
        week = alone.get(pair.first, -1)
        if week >= 0 and week == alone.get(pair.second):
            hours.append((t.index[pair.first], week, -pair.saved_stop_h))
    return hours


def lost_mwh(t: Tables, placements: tuple[Placement, ...]) -> Floats:
    """[scenarios] MWh lost by the round in each past year."""
    return sum((t.lost_mwh[i][:, w] * h for i, w, h in stop_hours(t, placements)), np.zeros(t.scenarios))


def tail_mean(costs: Floats, quantile: float) -> float:
    """Mean of the worst (1 - quantile) of equally likely costs; the one on the border counts in part.

    >>> tail_mean(np.array([1.0, 2.0, 3.0, 4.0]), 0.5)
    3.5
    """
    worst = np.sort(costs)[::-1]
    mass = (1.0 - quantile) * len(worst)
    weights = np.clip(mass - np.arange(len(worst)), 0.0, 1.0)
    return float(worst @ weights / mass)


def parts(t: Tables, placements: tuple[Placement, ...], left_out: tuple[str, ...]) -> dict[str, int]:
    """The parts of rules.PARTS in whole cents."""
    w = t.problem.weights
    energy = sum((t.cents[i][:, week] * h for i, week, h in stop_hours(t, placements)), np.zeros(t.scenarios))
    overload = undone_table(t, week_load(t, placements)).sum(axis=1) * w.overload_per_person_h
    costs = energy + overload
    found = {
        "lost energy": float(energy.mean()),
        "left out": float(sum(t.out_cents[t.index[item]] for item in left_out)),
        "overload": float(overload.mean()),
        "bad tail": w.tail_share * (tail_mean(costs, w.quantile) - float(costs.mean())),
        "equipment": float(_equipment_cents(t, placements)),
        **_direct_parts(t, placements, left_out),
    }
    return {name: round(cents) for name, cents in found.items()}


def least_cost(t: Tables) -> float:
    """Cents below which no round can lie: every item by itself at its cheapest, as if nobody else were there."""
    p = t.problem
    absorbed = {other for item in p.items for other in item.absorbs}
    total = 0.0
    for i, item in enumerate(p.items):
        ways = [t.direct[i, w] + item.stop_h * float(t.cents[i][:, w].mean()) for w in t.alone_weeks[i]]
        ways += [t.direct[i, w] for w in t.weeks_of[i]] if item.id in absorbed else []
        ways += [float(t.out_cents[i])] if item.pinned is None else []
        total += min(ways, default=0.0)
    saved = (pair.saved_stop_h * max(0.0, float(t.cents[t.index[pair.first]].mean(axis=0).max())) for pair in p.together)
    return total - sum(saved)


def finished_plan(t: Tables, weeks: dict[int, Placement], left_out: tuple[str, ...]) -> Plan:
    """A Plan in the order of the items, with its parts."""
    placements = tuple(weeks[i] for i in sorted(weeks))
    return Plan(placements, left_out, parts(t, placements, left_out))


def _direct_parts(t: Tables, placements: tuple[Placement, ...], left_out: tuple[str, ...]) -> dict[str, float]:
    found = {"lateness": 0.0, "change": 0.0} | ({} if t.problem.scenarios else {"away from due": 0.0})
    for placed in placements:
        item = t.problem.items[t.index[placed.item]]
        late = max(0, placed.week - max(0, item.due)) * t.late_cents[t.index[placed.item]]
        moved = item.move_cost if item.previous is not None and item.previous != placed.week else 0
        found["lateness"] += late
        found["change"] += moved
        if not t.problem.scenarios:
            found["away from due"] += max(0, item.due - placed.week) * t.problem.weights.away_from_due
    for name in left_out:
        item = t.problem.items[t.index[name]]
        found["change"] += item.move_cost if item.previous is not None else 0
    return found


def _equipment_cents(t: Tables, placements: tuple[Placement, ...]) -> int:
    cost = {e.id: e.week_cost for e in t.problem.equipment}
    alone = [placed for placed in placements if not placed.with_item]
    used = {(e, placed.week) for placed in alone for e in t.problem.items[t.index[placed.item]].equipment}
    return sum(cost[e] for e, _ in used)
