"""Which columns of a plan to keep while the rest is planned anew: some days, teams, orders or some people's week go."""

from __future__ import annotations

import random
from collections.abc import Callable

from scheduling.fortnight.pool.master import Column, PoolMaster

VAIN, MOST_MORE = 12, 4
"""Tries in vain after which parts grow by a step, and how many steps."""

Gone = Callable[[Column], bool]


class Parts:
    """Draws parts of a plan to keep; `rng` decides."""

    def __init__(self, master: PoolMaster, rng: random.Random) -> None:
        self.master, self.rng = master, rng
        self.vain = 0
        """Parts planned anew in vain since the last better plan: the more, the larger the next ones."""
        self._kinds = (self._days, self._days_in_a_row, self._teams, self._people_of_a_week, self._orders)

    def keep(self, best: list[int]) -> list[int]:
        """Numbers of the columns to keep."""
        gone = self.rng.choice(self._kinds)(best)
        return [i for i in best if not gone(self.master.columns[i])]

    def _more(self) -> int:
        return min(MOST_MORE, self.vain // VAIN)

    def _days(self, best: list[int]) -> Gone:
        days = self._used_days(best)
        some = set(self.rng.sample(days, min(len(days), self.rng.choice((2, 3, 3, 4)) + self._more())))
        return lambda column: column.day in some

    def _days_in_a_row(self, best: list[int]) -> Gone:
        days = self._used_days(best)
        first, count = self.rng.randrange(len(days)), self.rng.choice((3, 4, 5)) + self._more()
        some = {days[(first + n) % len(days)] for n in range(count)}
        return lambda column: column.day in some

    def _teams(self, best: list[int]) -> Gone:
        columns = [self.master.columns[i] for i in best]
        some = set(self.rng.sample(columns, min(len(columns), self.rng.choice((15, 22)) + 3 * self._more())))
        return lambda column: column in some

    def _people_of_a_week(self, best: list[int]) -> Gone:
        days, people = self.master.facts.problem.days, range(len(self.master.facts.problem.people))
        week = self.rng.choice([days[day].week for day in self._used_days(best)])
        some = sum(1 << i for i in self.rng.sample(people, min(len(people), self.rng.choice((4, 7)) + self._more())))
        return lambda column: bool(column.mask & some) and days[column.day].week == week

    def _orders(self, best: list[int]) -> Gone:
        done = sorted({order for i in best for order in self._orders_of(self.master.columns[i])})
        some = set(self.rng.sample(done, min(len(done), 12 + 3 * self._more())))
        return lambda column: not some.isdisjoint(self._orders_of(column))

    def _used_days(self, best: list[int]) -> list[int]:
        return sorted({self.master.columns[i].day for i in best})

    def _orders_of(self, column: Column) -> list[int]:
        return [order for k in column.kinds for order, _, _ in self.master.kinds[k].jobs]
