"""Whole routes from the wide master: fix those that its linear optimum likes best, look for new ones beside them, and so on.

Then the plan is cut anew: everything of some days, or of one area (turbines near each other) on some days, is freed and found
again while the rest stands; what is better is kept.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.rows import INF
from scheduling.fortnight.wide.master import Route, WideMaster
from scheduling.fortnight.wide.pricing import Limits

SURE = 0.85
"""Routes with at least this share of the solution are fixed together."""

AT_ONCE = 4
"""So many of the likeliest are fixed where none is sure."""

PRICE_EVERY = 3
QUICK = Limits(0.0, 40)
MANY = 4
MOST_STEPS = 300
NEAR = 1e-6
Over = Callable[[], bool]


class Dive:
    """Dives in one master problem. `best`: numbers of the routes of the best plan; `value`: its cents in the master's money."""

    def __init__(self, master: WideMaster, seed: int, over: Over) -> None:
        self.master, self.rng, self.over = master, random.Random(seed), over
        self.best: list[int] = []
        self.value = float("inf")
        self.part: list[int] = []
        """Routes that the last dive stood on when it ended, with or without a whole plan."""
        self._fixed: set[int] = set()
        self._stands: set[int] = set()

    def again(self, keep: list[int]) -> bool:
        """Fix the routes to keep, dive from there, free everything; True if that gave the best plan so far."""
        self.master.by_bounds()
        self._fix(keep)
        try:
            found = self._down()
        finally:
            self.part = sorted(self._stands)
            self._free()
        if found is None or found[0] >= self.value - 1.0:
            return False
        self.value, self.best = found
        return True

    def _down(self) -> tuple[float, list[int]] | None:
        """Fix more and more until every route is whole; None where time is up or the rest of the way is dearer than the best."""
        last: list[int] = []
        for step in range(MOST_STEPS):
            if self.over():
                return None
            price = self.master.solve()
            if not self.master.solved():
                if not last:
                    return None
                last = self._back(last)
                continue
            if self.master.value >= self.value - 1.0:
                return None
            if step % PRICE_EVERY == 0:
                self.master.spread(self.master.signed(price), QUICK, MANY, self.rng)
                self.master.solve()
            value = self._shares()
            open_ = np.flatnonzero((value > NEAR) & (value < 1.0 - NEAR))
            if not len(open_):
                return self.master.value, np.flatnonzero(value > 0.5).tolist()
            last = self._likely(value, open_)
            self._fix(last)
        return None

    def _back(self, last: list[int]) -> list[int]:
        """Nothing can be done beside the routes fixed last: forbid the last of them, free the others."""
        start = self.master.rows.columns
        for column in last:
            self.master.highs.changeColBounds(start + column, 0.0, 0.0 if column == last[-1] else INF)
        self._stands -= set(last)
        return last[:-1]

    def _likely(self, value: Floats, open_: Ints) -> list[int]:
        """The sure routes that are not fixed yet, else a few of the likeliest, no two of which share an order."""
        sure = [int(i) for i in np.flatnonzero(value >= SURE) if int(i) not in self._fixed]
        if sure:
            return sure
        found, taken = list[int](), set[int]()
        for i in open_[np.argsort(-value[open_], kind="stable")].tolist():
            orders = self.master.orders_of(self.master.routes[i])
            if not found or (value[i] > 0.5 and not orders & taken):
                found.append(i)
                taken |= orders
            if len(found) >= AT_ONCE:
                break
        return found

    def _shares(self) -> Floats:
        found: Floats = np.asarray(self.master.highs.getSolution().col_value)[self.master.rows.columns :]
        return found

    def _fix(self, columns: list[int]) -> None:
        for column in columns:
            self.master.highs.changeColBounds(self.master.rows.columns + column, 1.0, INF)
        self._stands |= set(columns)
        self._fixed |= set(columns)  # whatever is touched is freed at the end

    def _free(self) -> None:
        for column in self._fixed:
            self.master.highs.changeColBounds(self.master.rows.columns + column, 0.0, INF)
        self._fixed, self._stands = set(), set()

    # --- cut anew -----------------------------------------------------------------------------------------------------

    def part_to_keep(self) -> list[int]:
        """The best plan's routes, less those of a few days or of an area on several days."""
        routes = self.master.routes
        days = sorted({routes[i].day for i in self.best})
        if self.rng.random() < 0.5:
            gone = set(self.rng.sample(days, min(len(days), self.rng.choice((2, 3)))))
            return [i for i in self.best if routes[i].day not in gone]
        first = self.rng.choice(days)
        span = self.rng.choice((5, 7, 14))
        area = self._area(self.rng.choice((0.25, 0.35)) if span > 7 else 0.5)
        return [i for i in self.best if not (first <= routes[i].day < first + span and self._place(routes[i]) in area)]

    def _area(self, share: float) -> set[int]:
        """The turbines of the plan nearest to one of them."""
        places = sorted({self._place(self.master.routes[i]) for i in self.best})
        hops = self.master.facts.hop_min[self.rng.choice(places)]
        return set(sorted(places, key=lambda t: (hops[t], t))[: max(1, int(share * len(places)))])

    def _place(self, route: Route) -> int:
        """The turbine of a route's longest visit."""
        kinds = [self.master.kinds[k] for k in route.kinds]
        return max(kinds, key=lambda kind: (kind.fields[route.day].slots, kind.jobs)).turbine
