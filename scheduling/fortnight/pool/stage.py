"""The bound's work where all routes can be counted out: linear optimum, whole plans, and a bound that whole numbers lift."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np

from scheduling.fortnight.adopt import timed
from scheduling.fortnight.board import Board, Team
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.pool.dive import Dive
from scheduling.fortnight.pool.master import Column, PoolMaster
from scheduling.fortnight.pool.whole import MANY, whole_numbers

Say = Callable[[dict[str, Any]], None]
Share = Callable[[], float]
MOST_WHOLE = 4000
"""Columns beyond which dives find better plans than HiGHS finds whole numbers in the time there is."""

DIVES, WHOLE = 0.2, 0.5
"""Shares of the time that is left for dives, then for whole numbers; then the same again."""

SAFE, ROUNDING = 1e-6, 5.0
"""Share of the bound given away for the simplex's tolerances, and cents for costs kept with seven digits."""


class Stage:
    """Works on a master for a share of the time; says bounds and teams as it finds them."""

    def __init__(self, master: PoolMaster, seed: int, say: Say, share: Share, seconds: float) -> None:
        self.master, self.seed, self.say, self.share, self.seconds = master, seed, say, share, seconds
        self.dive = Dive(master, seed, lambda: self.share() > self.until, self._timed)
        self.numbers = {kind.jobs: k for k, kind in enumerate(master.kinds)}
        self.until = 1.0

    def run(self, board: Board) -> None:
        """Everything; `board` holds a first plan, whose teams are the first columns."""
        self.alone = Orders(Board(board.facts, board.kinds), random.Random(self.seed))
        first = self._seed(board)
        while self.share() < 1.0:
            worst = self.master.round(MANY)
            self._say_bound(self.master.bound)
            if worst > -1.0:
                break
        self._say_done()
        self.dive.time_all()
        self.until = 1.0
        if not self.dive.again([]):
            self.dive.take(first)
        while self.share() < 1.0:
            left = 1.0 - self.share()
            if len(self.master.columns) > MOST_WHOLE:
                self._improve(1.0)
                break
            self._improve(self.share() + DIVES * left)
            self._whole(WHOLE * left * self.seconds)

    def _improve(self, until: float) -> None:
        """Dive, then dive anew in parts of the best plan."""
        self.until = until
        while self.share() < until:
            if self.dive.part():
                self._say_teams(self.dive.best)

    def _whole(self, seconds: float) -> None:
        def better(columns: list[int], cents: float) -> None:
            if self.dive.take(columns):
                self._say_teams(self.dive.best)

        self._say_bound(whole_numbers(self.master, self.dive.best, seconds, self.seed, better))

    def _seed(self, board: Board) -> list[int]:
        """The columns of a first plan."""
        return [self.master.add(self._column(day, team)) for day, teams in enumerate(board.teams) for team in teams]

    def _column(self, day: int, team: Team) -> Column:
        kinds = tuple(sorted(self.numbers[stop.kind.jobs] for stop in team.stops))
        cents = team.cents + sum(stop.cents for stop in team.stops)
        return Column(day, team.mask, kinds, cents, team.returns_min - team.leaves_min)

    def _timed(self, column: Column) -> Column | None:
        """The column as it stands on a board of its own."""
        self.alone.clear()
        team = timed(self.alone, column.day, column.mask, tuple(self.master.kinds[k] for k in column.kinds))
        return None if team is None else self._column(column.day, team)

    def _say_done(self) -> None:
        """By order, how much of it the linear optimum does: what to plan first."""
        self.master.solve()
        share = np.asarray(self.master.highs.getSolution().col_value)[self.master.left]
        self.say({"done": [round(1.0 - float(x), 4) for x in share]})

    def _say_bound(self, bound: float) -> None:
        self.say({"bound": bound - SAFE * abs(bound) - ROUNDING})

    def _say_teams(self, columns: list[int]) -> None:
        facts, kinds = self.master.facts, self.master.kinds
        chosen = [self.master.columns[i] for i in columns]
        self.say({"teams": [[c.day, facts.members_of(c.mask), [kinds[k].jobs for k in c.kinds]] for c in chosen]})
