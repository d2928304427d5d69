"""The search: plans built in several orders of the classes, the best of them drawn towards ever earlier deadlines."""

from __future__ import annotations

import random
import time
from itertools import permutations
from typing import NamedTuple

from tests.bench.teams2007.board import FAR, Board, Saved
from tests.bench.teams2007.build import Builder
from tests.bench.teams2007.evaluate import Plan
from tests.bench.teams2007.numbers import Numbers
from tests.bench.teams2007.reach import Reach, finish
from tests.bench.teams2007.reader import DAY, Instance

WEIGHTS = (28, 14, 4, 1)
ORDERS = [o for last in (3, 2) for o in permutations(range(4)) if o[last] == 3]
"""Orders of the classes: the last priority at the end or one before it."""

FIRST_LOOK, BUILDING, ONE_BUILD = 0.15, 0.35, 0.06
"""Shares of the time: quick plans in all orders, all building, one polished plan."""

MOST_POLISH = 20_000

STARTS, SHARE = 3, 0.2
"""So many plans are improved, each for this share of the time left, before the best goes on alone."""


class Found(NamedTuple):
    """A whole plan: its value, its latest ends by class, the board."""

    value: int
    ends: list[int]
    board: Saved


class Search:
    """Same instance, seed and number of steps: the same plan. The time is measured by the wall clock."""

    def __init__(self, instance: Instance, seconds: float, seed: int, enough: int = 0) -> None:
        self.began, self.seconds, self.enough = time.monotonic(), seconds, enough
        self.rng = random.Random(seed)
        self.numbers = Numbers(instance)
        self.board = Board(self.numbers, self.rng)
        self.best: Found | None = None
        self.plan = Plan(())
        self.first_seconds: float | None = None

    def run(self) -> Plan:
        """The best plan found within the time, or as soon as one is worth `enough`."""
        starts = sorted(self._build(), key=lambda found: found.value)[:STARTS]
        share = self.left() * SHARE
        starts = [self.improve(found, self.left() - share) for found in starts if not self.over()] or starts
        self.improve(min(starts, key=lambda found: found.value), 0.0)
        return self.plan

    def left(self) -> float:
        """Seconds left."""
        return self.seconds - (time.monotonic() - self.began)

    def over(self) -> bool:
        """Out of time, or good enough."""
        return self.left() <= 0 or (self.best is not None and self.best.value <= self.enough)

    # --- building ---------------------------------------------------------------------------------------------------

    def _build(self) -> list[Found]:
        """Quick plans in all orders, then polished ones in the orders that did best."""
        found: list[Found] = []
        results: dict[tuple[tuple[int, ...], float], int] = {}
        for decay in (1.0, 2.0, 4.0) if self.numbers.instance.budget else (1.0,):
            for order in ORDERS:
                if not found or self.left() > self.seconds * (1 - FIRST_LOOK):
                    self._attempt((order, decay), 0.2, 30, found, results)
        polish = 300
        while self.left() > self.seconds * (1 - BUILDING) and results and not self.over():
            ranked, began = sorted(results, key=lambda way: results[way]), time.monotonic()
            way = ranked[min(len(ranked) - 1, int(self.rng.expovariate(0.7)))]
            self._attempt(way, self.rng.choice((0.1, 0.3, 0.6)), polish, found, results)
            if time.monotonic() - began < self.seconds * ONE_BUILD:
                polish = min(MOST_POLISH, int(polish * 1.5))
        return found

    def _attempt(
        self,
        way: tuple[tuple[int, ...], float],
        noise: float,
        polish: int,
        found: list[Found],
        results: dict[tuple[tuple[int, ...], float], int],
    ) -> None:
        self.board = Board(self.numbers, self.rng)
        if Builder(self.board, way[0], way[1], noise).build(polish):
            found.append(self._keep())
            results[way] = min(found[-1].value, results.get(way, FAR))

    def _keep(self) -> Found:
        ends = self.board.ends()
        value = sum(w * e for w, e in zip(WEIGHTS, ends, strict=True))
        found = Found(value, ends, self.board.save())
        if self.best is None or value < self.best.value:
            self.best, self.plan = found, self.board.plan()
        return found

    # --- improving --------------------------------------------------------------------------------------------------

    def improve(self, found: Found, until: float) -> Found:
        """Draw a plan towards earlier deadlines until so many seconds are left."""
        bold = 0.7
        while self.left() > until and not self.over():
            is_bold = self.rng.random() < bold
            deadlines = self._all_earlier(found.ends) if is_bold else self._one_earlier(found.ends)
            self.board.load(found.board)
            stop = max(until, self.left() - max(2.0, self.seconds / 15))
            met = Reach(self.board, deadlines).run(lambda stop=stop: self.left() <= stop)
            new = self._keep() if met or finish(self.board) else found
            if is_bold:
                bold = min(0.9, bold + 0.2) if new.value < found.value else max(0.1, bold * 0.9)
            found = min(found, new, key=lambda one: one.value)
        return found

    def _all_earlier(self, ends: list[int]) -> list[int]:
        """Deadlines well before what is reached; whatever misses them is placed behind afterwards."""
        cut = self.rng.choice((0.03, 0.06, 0.1, 0.15))
        new = [int(end * (1 - cut * self.rng.random() * (1.0 if k < 3 else 0.5))) for k, end in enumerate(ends)]
        new[3] = max(new)
        return new

    def _one_earlier(self, ends: list[int]) -> list[int]:
        """One class earlier, the others as late as still pays."""
        rng = self.rng
        klass = rng.choices([k for k in range(4) if ends[k]], [(4, 3, 2, 1)[k] for k in range(4) if ends[k]])[0]
        step = 1 if rng.random() < 0.5 else rng.choice(self._steps(klass, ends[klass]))
        new, slack = list(ends), WEIGHTS[klass] * step - 1
        new[klass] -= step
        for other in rng.sample([k for k in range(4) if k != klass], 3):
            later = min(rng.choice((0, 15, 60, DAY, 2 * DAY)), slack // WEIGHTS[other])
            new[other] += later
            slack -= later * WEIGHTS[other]
        new[3] = max(*new[:3], new[3] + slack)
        return new

    def _steps(self, klass: int, end: int) -> list[int]:
        """How much earlier a class might end: at the last day's start, or after one or two jobs of its own."""
        inside = end - (end - 1) // DAY * DAY
        times = {self.numbers.duration[j] for j in self.numbers.jobs if klass in (3, self.numbers.klass[j])}
        starts = {0, *times, *(a + b for a in times for b in times)}
        return [inside - start for start in starts if start < inside]
