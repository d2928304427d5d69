"""Better rounds by moving one item at a time to the week, of all it may stand in, that makes the whole round cheapest.

Each move is priced with the true cost (energy, overload and bad tail over all past years), for all weeks of an item at
once. Started from an empty round, the first pass is a greedy construction.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable

import numpy as np

from scheduling.year.money import finished_plan
from scheduling.year.plan import Placement, Plan
from scheduling.year.tables import Floats, Tables

OUT = -1
EPS = 1e-6


class Levels:
    """The constant part of "undone" (rules.py) for every week, so that many loads can be tried at once.

    order [W, L, S]: limit sets from strict to loose in each week and year; room [W, L, S, G]: hours up to each level, inf
    where the next limit set has the same share, since a level counts once.
    """

    def __init__(self, t: Tables) -> None:
        share = np.moveaxis(t.share, 2, 0)
        self.order = np.argsort(share, axis=1, kind="stable")
        level = np.take_along_axis(share, self.order, axis=1)
        last = np.ones(level.shape, dtype=bool)
        last[:, :-1] = level[:, 1:] > level[:, :-1]
        self.room = np.where(last[..., None], level[..., None] * t.capacity[:, None, None, :], np.inf)

    def undone(self, weeks: list[int], load: Floats) -> Floats:
        """load [K, L, G] of `weeks` -> [K, S] person-hours that do not fit."""
        strict_first = load[np.arange(len(weeks))[:, None, None], self.order[weeks]]
        short = np.cumsum(strict_first, axis=1) - self.room[weeks]
        worst: Floats = short.max(axis=(1, 3), initial=0.0)
        return np.where(worst > EPS, worst, 0.0)


class Descent:
    """A round that is being improved. Absorbed items, items that absorb some and pinned items stay where they are."""

    def __init__(self, t: Tables, start: Plan) -> None:
        self.t = t
        self.levels = Levels(t)
        self.placed = {t.index[placed.item]: placed for placed in start.placements}
        self.load: Floats = np.zeros((len(t.problem.weeks), t.share.shape[0], len(t.groups)))
        self.energy = np.zeros(t.scenarios)
        self._used: Counter[tuple[str, int]] = Counter()
        self._down: dict[tuple[str, int], Counter[str]] = defaultdict(Counter)
        self._site = {turbine.id: turbine.site for turbine in t.problem.turbines}
        self._capacity = {e.id: e.capacity for e in t.problem.equipment}
        self._week_cost = {e.id: e.week_cost for e in t.problem.equipment}
        self._mates: dict[int, list[tuple[int, float]]] = defaultdict(list)
        for pair in t.problem.together:
            first, second = t.index[pair.first], t.index[pair.second]
            self._mates[first].append((second, pair.saved_stop_h))
            self._mates[second].append((first, pair.saved_stop_h))
        stays, self.placed = self.placed, {}
        for i, placed in stays.items():
            self._enter(i, placed)
        self.undone = self.levels.undone(list(range(len(t.problem.weeks))), self.load)
        fixed = {t.index[p.with_item] for p in start.placements if p.with_item}
        self.movable = [i for i in range(len(t.problem.items)) if self._free(i) and i not in fixed]

    def _free(self, i: int) -> bool:
        placed = self.placed.get(i)
        return self.t.problem.items[i].pinned is None and (placed is None or not placed.with_item)

    def run(self, go_on: Callable[[], bool]) -> Plan:
        """Pass over the items until no move helps, or `go_on` says no; the round so far as a plan."""
        order = sorted(self.movable, key=lambda i: (len(self.t.alone_weeks[i]), -self.t.out_cents[i], i))
        moved = True
        while moved:
            moved = False
            for i in order:
                if not go_on():
                    break
                moved = self.move(i) or moved
        return self.plan()

    def plan(self) -> Plan:
        """The round as it stands."""
        left_out = tuple(item.id for i, item in enumerate(self.t.problem.items) if i not in self.placed)
        return finished_plan(self.t, self.placed, left_out)

    def lay(self, i: int, week: int) -> bool:
        """Put an item that stands nowhere into a week, if every rule lets it; True if it now stands there."""
        if i in self.placed or week not in self.t.alone_weeks[i] or not self._allowed(i, week):
            return False
        undone, costs = self._try(i, [week])
        if not np.isfinite(costs[0]):
            return False
        self._enter(i, Placement(self.t.problem.items[i].id, week))
        self.undone[week] = undone[0]
        return True

    def ride(self, i: int, by: int) -> bool:
        """Let item `i` be absorbed by one that stands in a week of its window; both then stay there. True if it is."""
        host = self.placed.get(by)
        if i in self.placed or host is None or host.with_item or host.week not in self.t.weeks_of[i]:
            return False
        self.placed[i] = Placement(self.t.problem.items[i].id, host.week, host.item)
        self.movable = [other for other in self.movable if other not in (i, by)]
        return True

    def move(self, i: int) -> bool:
        """Take the item out and put it where the round is cheapest; True if that is somewhere else and better."""
        before = self.placed[i].week if i in self.placed else OUT
        if before != OUT:
            self._leave(i)
            self.undone[before] = self.levels.undone([before], self.load[[before]])[0]
        weeks = [w for w in self.t.alone_weeks[i] if self._allowed(i, w)]
        best, cost = OUT, self._costs(self.energy[None], self.undone.sum(axis=0)[None])[0] + self._out_cost(i)
        stays = cost if before == OUT else np.inf
        if weeks:
            tried, found = self._try(i, weeks)
            if before in weeks:
                stays = found[weeks.index(before)]
            k = int(np.argmin(found))
            if found[k] < cost:
                best, cost = weeks[k], found[k]
        if cost > stays - 1.0:
            best = before
        if best != OUT:
            self._enter(i, Placement(self.t.problem.items[i].id, best))
            self.undone[best] = tried[weeks.index(best)]
        return best != before

    def _try(self, i: int, weeks: list[int]) -> tuple[Floats, Floats]:
        """([K, S] undone of each week with the item in it, [K] cost of the round; inf where the work would not fit)."""
        load = self.load[weeks]
        load[:, self.t.limit_of[i]] += self.t.load[i]
        undone = self.levels.undone(weeks, load)
        total = self.undone.sum(axis=0) - self.undone[weeks] + undone
        hours = np.array([self._stop_h(i, w) for w in weeks])
        costs = self._costs(self.energy + self.t.cents[i][:, weeks].T * hours[:, None], total)
        costs += self.t.direct[i, weeks] + [self._booking(i, w) for w in weeks]
        fits = (undone == 0).sum(axis=1) >= self.t.need_fit
        return undone, np.where(fits, costs, np.inf)

    def _costs(self, energy: Floats, undone: Floats) -> Floats:
        """[K, S] energy and [K, S] undone of whole rounds -> [K] cents that depend on the weather."""
        weights = self.t.problem.weights
        years = energy + undone * weights.overload_per_person_h
        mass = (1.0 - weights.quantile) * years.shape[1]
        part = np.clip(mass - np.arange(years.shape[1]), 0.0, 1.0) / mass
        tail = np.sort(years, axis=1)[:, ::-1] @ part
        result: Floats = (1.0 - weights.tail_share) * years.mean(axis=1) + weights.tail_share * tail
        return result

    def _out_cost(self, i: int) -> float:
        item = self.t.problem.items[i]
        return float(self.t.out_cents[i] + (item.move_cost if item.previous is not None else 0))

    def _stop_h(self, i: int, week: int) -> float:
        """Hours of standstill the item adds in a week, less what its mates there save."""
        there = (saved for mate, saved in self._mates[i] if self._alone_in(mate, week))
        return self.t.problem.items[i].stop_h - sum(there)

    def _alone_in(self, i: int, week: int) -> bool:
        placed = self.placed.get(i)
        return placed is not None and not placed.with_item and placed.week == week

    def _booking(self, i: int, week: int) -> float:
        return float(sum(self._week_cost[e] for e in self.t.problem.items[i].equipment if not self._used[e, week]))

    def _allowed(self, i: int, week: int) -> bool:
        """Equipment and most down; the fit is seen when the load is tried."""
        item = self.t.problem.items[i]
        if any(self._used[e, week] >= self._capacity[e] for e in item.equipment):
            return False
        site = self._site[item.turbine]
        down = self._down[site, week]
        most = self.t.problem.rules.max_down.get(site)
        return most is None or item.stop_h == 0 or item.turbine in down or len(down) < most

    def _enter(self, i: int, placed: Placement) -> None:
        if not placed.with_item:
            self._count(i, placed.week, 1)
        self.placed[i] = placed

    def _leave(self, i: int) -> None:
        self._count(i, self.placed.pop(i).week, -1)

    def _count(self, i: int, week: int, sign: int) -> None:
        item = self.t.problem.items[i]
        self.load[week, self.t.limit_of[i]] += sign * self.t.load[i]
        self.energy = self.energy + sign * self._stop_h(i, week) * self.t.cents[i][:, week]
        for e in item.equipment:
            self._used[e, week] += sign
        if item.stop_h > 0:
            down = self._down[self._site[item.turbine], week]
            down[item.turbine] += sign
            if not down[item.turbine]:
                del down[item.turbine]
