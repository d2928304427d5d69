"""Rounds laid item by item: the rules of thumb a planner would use, and first plans for the solver to start from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

import numpy as np

from scheduling.year.money import finished_plan
from scheduling.year.plan import Placement, Plan
from scheduling.year.problem import Problem
from scheduling.year.tables import Floats, Tables, tables, undone_h

Price = Callable[[int, int], float]
"""(item index, week) -> what a rule of thumb minimises; the first of the cheapest weeks with room is taken."""


class Board:
    """A half-laid round: what stands where, and whether one more item may join a week."""

    def __init__(self, t: Tables) -> None:
        self.t = t
        self.placed: dict[int, Placement] = {}
        self.load: Floats = np.zeros((len(t.problem.weeks), t.share.shape[0], len(t.groups)))
        self._down: dict[tuple[str, int], set[str]] = defaultdict(set)
        self._used: dict[tuple[str, int], int] = defaultdict(int)
        self._site = {turbine.id: turbine.site for turbine in t.problem.turbines}
        self._capacity = {e.id: e.capacity for e in t.problem.equipment}
        self._absorbers: dict[int, list[int]] = defaultdict(list)
        for by, item in enumerate(t.problem.items):
            for other in item.absorbs:
                self._absorbers[t.index[other]].append(by)

    def may_join(self, i: int, week: int) -> bool:
        """Equipment, most down and fit allow item `i` to be done by itself in `week` beside what stands there."""
        item, rules = self.t.problem.items[i], self.t.problem.rules
        if any(self._used[e, week] >= self._capacity[e] for e in item.equipment):
            return False
        site = self._site[item.turbine]
        down = self._down[site, week] | ({item.turbine} if item.stop_h > 0 else set())
        if len(down) > rules.max_down.get(site, len(down)):
            return False
        load = self.load[week].copy()
        load[self.t.limit_of[i]] += self.t.load[i]
        fits = undone_h(self.t.share[:, :, week], self.t.capacity[week], load) == 0
        return week in self.t.full_weeks or int(fits.sum()) >= self.t.need_fit

    def put(self, i: int, week: int) -> None:
        """Place item `i` by itself."""
        item = self.t.problem.items[i]
        self.placed[i] = Placement(item.id, week)
        self.load[week, self.t.limit_of[i]] += self.t.load[i]
        for e in item.equipment:
            self._used[e, week] += 1
        if item.stop_h > 0:
            self._down[self._site[item.turbine], week].add(item.turbine)

    def absorb(self, i: int) -> bool:
        """Place item `i` with one that absorbs it and already stands in a week of its window; False if there is none."""
        weeks = set(self.t.weeks_of[i])
        there = [(by, self.placed[by]) for by in self._absorbers[i] if by in self.placed]
        good = sorted((placed.week, by) for by, placed in there if not placed.with_item and placed.week in weeks)
        for week, by in good[:1]:
            self.placed[i] = Placement(self.t.problem.items[i].id, week, self.t.problem.items[by].id)
        return bool(good)

    def lay(self, order: Sequence[int], price: Price) -> Plan | None:
        """Pinned items first, then the others in `order`, each in its cheapest week with room; None if pins clash."""
        items = self.t.problem.items
        for i in (i for i, item in enumerate(items) if item.pinned is not None):
            weeks = [w for w in self.t.alone_weeks[i] if self.may_join(i, w)]
            if not weeks:
                return None
            self.put(i, weeks[0])
        for i in (i for i in order if items[i].pinned is None):
            if not self.absorb(i):
                ranked = sorted(self.t.alone_weeks[i], key=lambda w: (price(i, w), w))
                week = next((w for w in ranked if self.may_join(i, w)), None)
                if week is not None:
                    self.put(i, week)
        left_out = tuple(item.id for i, item in enumerate(items) if i not in self.placed)
        return finished_plan(self.t, self.placed, left_out)


def due_date_order(problem: Problem) -> Plan | None:
    """The round as a plain list by due date gives it: the most urgent item first, each in the first week with room.

    None only where pinned items clash with each other.
    """
    return _by_due(tables(problem))


def turbine_order(problem: Problem) -> Plan | None:
    """The round turbine by turbine, in the order of the problem's list, each item in the first week with room."""
    t = tables(problem)
    place = {turbine.id: n for n, turbine in enumerate(problem.turbines)}
    order = sorted(range(len(problem.items)), key=lambda i: (place[problem.items[i].turbine], problem.items[i].due, i))
    return Board(t).lay(order, lambda i, w: 0.0)


def first_plans(t: Tables) -> list[Plan]:
    """Plans to start a solve from, cheapest first; empty where pinned items clash."""
    found = [plan for plan in (_by_due(t), _calm_first(t)) if plan is not None]
    return sorted(found, key=lambda plan: plan.value)


def _by_due(t: Tables) -> Plan | None:
    items = t.problem.items
    order = sorted(range(len(items)), key=lambda i: (items[i].due, not items[i].absorbs, items[i].closes, i))
    return Board(t).lay(order, lambda i, w: 0.0)


def _calm_first(t: Tables) -> Plan | None:
    """Items with the fewest weeks first, each in the week that costs it least."""
    items = t.problem.items
    order = sorted(range(len(items)), key=lambda i: (not items[i].absorbs, len(t.alone_weeks[i]), -items[i].stop_h, i))
    return Board(t).lay(order, lambda i, w: t.direct[i, w] + items[i].stop_h * float(t.cents[i][:, w].mean()))
