"""A year's problem as arrays, worked out once for the solver, the rules of thumb, the replay and the explanations.

The checker does not use this module; it reads the problem by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.year.problem import EVERYBODY, Item, Problem

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Tables:
    """Arrays of a problem (S scenarios, at least 1; W weeks; G groups; L limits).

    weeks_of     item index -> weeks in which it may stand, ascending
    alone_weeks  item index -> those of them in which it may be done by itself (its equipment is there, week not full)
    load         [items, G] person-hours per group
    limit_of     [items] row of `share`
    share        [L, S, W] workable share
    capacity     [W, G] person-hours
    cents        item index -> [S, W] cents per hour of standstill
    late_cents   item index -> cents per week after its due week (or the first week)
    out_cents    item index -> cents if it is left out
    direct       [items, W] cents that do not depend on the weather: lateness, change, distance from due
    full_weeks   weeks whose pinned work alone does not fit: they take no other work
    """

    problem: Problem
    index: dict[str, int]
    groups: tuple[str, ...]
    weeks_of: tuple[tuple[int, ...], ...]
    alone_weeks: tuple[tuple[int, ...], ...]
    load: Floats
    limit_of: NDArray[np.int64]
    share: Floats
    capacity: Floats
    cents: tuple[Floats, ...]
    lost_mwh: tuple[Floats, ...]
    late_cents: tuple[int, ...]
    out_cents: tuple[int, ...]
    direct: Floats
    full_weeks: frozenset[int]

    @property
    def scenarios(self) -> int:
        """Number of scenarios, 1 where there is no history."""
        return int(self.share.shape[1])

    @property
    def need_fit(self) -> int:
        """Number of scenarios in which each week's work must fit."""
        return need_fit(self.problem)


def tables(problem: Problem) -> Tables:
    """Work out the arrays of a problem."""
    groups = _groups(problem)
    limits = sorted({item.limit for item in problem.items})
    limit_of = np.array([limits.index(item.limit) for item in problem.items], dtype=np.int64)
    load = np.array([[_load(item, group) for group in groups] for item in problem.items]).reshape(-1, len(groups))
    share = _shares(problem, limits)
    capacity = np.array([[week.capacity_h.get(group, 0.0) for group in groups] for week in problem.weeks])
    lost, cents = _energy(problem)
    full = _full_weeks(problem, load, limit_of, share, capacity)
    return Tables(
        problem=problem,
        index={item.id: i for i, item in enumerate(problem.items)},
        groups=groups,
        weeks_of=tuple(candidate_weeks(item) for item in problem.items),
        alone_weeks=tuple(_alone_weeks(problem, item, full) for item in problem.items),
        load=load,
        limit_of=limit_of,
        share=share,
        capacity=capacity.reshape(-1, len(groups)),
        cents=cents,
        lost_mwh=lost,
        late_cents=tuple(late_cents_per_week(problem, item) for item in problem.items),
        out_cents=tuple(left_out_cents(problem, item) for item in problem.items),
        direct=np.array([_direct(problem, item) for item in problem.items]).reshape(-1, len(problem.weeks)),
        full_weeks=full,
    )


def candidate_weeks(item: Item) -> tuple[int, ...]:
    """Weeks in which an item may stand (rules.py), ascending. A pinned item has its pinned week only."""
    if item.pinned is not None:
        return (item.pinned,)
    last = item.closes if item.statutory and item.closes >= 0 else max(item.weeks, default=0)
    return tuple(sorted(week for week in item.weeks if item.opens <= week <= last))


def late_cents_per_week(problem: Problem, item: Item) -> int:
    """What a week after `due` costs, in cents."""
    passed = item.statutory and item.closes < 0
    return max(item.late_cost, problem.weights.statutory_late) if passed else item.late_cost


def left_out_cents(problem: Problem, item: Item) -> int:
    """What leaving an item out costs, in cents."""
    passed = item.statutory and item.closes < 0
    return max(item.left_out_cost, problem.weights.statutory_late * len(problem.weeks) if passed else 0)


def undone_h(share: Floats, capacity_h: Floats, load: Floats) -> Floats:
    """Person-hours that do not fit into one week, per scenario.

    share [L, S], capacity_h [G], load [L, G] -> [S]. See "undone" in rules.py.
    """
    order = np.argsort(share, axis=0, kind="stable")
    level = np.take_along_axis(share, order, axis=0)
    total = np.cumsum(load[order], axis=0)
    short = total - level[:, :, None] * capacity_h
    last_of_level = np.ones(level.shape, dtype=bool)
    last_of_level[:-1] = level[1:] > level[:-1]
    worst: Floats = np.where(last_of_level[:, :, None], short, 0.0).max(axis=(0, 2), initial=0.0)
    return np.where(worst > 1e-6, worst, 0.0)


def need_fit(problem: Problem) -> int:
    """Number of past years in which each week's work must fit (of 1 where there is no history)."""
    return max(1, int(np.ceil(problem.rules.fit_share * max(1, len(problem.scenarios)) - 1e-9)))


def _full_weeks(problem: Problem, load: Floats, limit_of: NDArray[np.int64], share: Floats, capacity: Floats) -> frozenset[int]:
    pinned: dict[int, Floats] = {}
    for i, item in enumerate(problem.items):
        if item.pinned is not None:
            table = pinned.setdefault(item.pinned, np.zeros((share.shape[0], load.shape[1])))
            table[limit_of[i]] += load[i]
    fits = {w: int((undone_h(share[:, :, w], capacity[w], table) == 0).sum()) for w, table in pinned.items()}
    return frozenset(w for w, years in fits.items() if years < need_fit(problem))


def _alone_weeks(problem: Problem, item: Item, full: frozenset[int]) -> tuple[int, ...]:
    there = [set(e.weeks) for e in problem.equipment if e.id in item.equipment]
    open_weeks = (w for w in candidate_weeks(item) if item.pinned is not None or w not in full)
    return tuple(w for w in open_weeks if all(w in weeks for weeks in there))


def _groups(problem: Problem) -> tuple[str, ...]:
    named = {skill for item in problem.items for skill in item.skills}
    return (EVERYBODY, *sorted(named - {EVERYBODY}))


def _load(item: Item, group: str) -> float:
    if group == EVERYBODY:
        return item.effort_person_h
    return item.effort_person_h * item.skills.get(group, 0) / item.team


def _shares(problem: Problem, limits: list[str]) -> Floats:
    if not problem.scenarios or not limits:
        return np.ones((max(1, len(limits)), 1, len(problem.weeks)))
    return np.array([problem.workable_share[limit] for limit in limits])


def _energy(problem: Problem) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    """(MWh, cents) per hour of standstill of each item, [S, W]; items of one site and energy share the array."""
    turbines = {t.id: t for t in problem.turbines}
    shape = (max(1, len(problem.scenarios)), len(problem.weeks))
    known: dict[tuple[str, str], tuple[Floats, Floats]] = {}
    for t in problem.turbines:
        if (t.energy, t.site) not in known:
            lost = np.array(problem.lost_mwh_per_stop_h[t.energy]) if problem.scenarios else np.zeros(shape)
            price = np.broadcast_to(np.array(problem.price_cents[t.site], dtype=float), shape)
            known[t.energy, t.site] = (lost, lost * price)
    pairs = [known[turbines[item.turbine].energy, turbines[item.turbine].site] for item in problem.items]
    return tuple(lost for lost, _ in pairs), tuple(cents for _, cents in pairs)


def _direct(problem: Problem, item: Item) -> Floats:
    weeks = np.arange(len(problem.weeks), dtype=float)
    cost = np.maximum(0.0, weeks - max(0, item.due)) * late_cents_per_week(problem, item)
    if not problem.scenarios:
        cost = cost + np.maximum(0.0, item.due - weeks) * problem.weights.away_from_due
    if item.previous is not None:
        cost = cost + np.where(weeks == item.previous, 0.0, item.move_cost)
    return np.asarray(cost, dtype=float)
