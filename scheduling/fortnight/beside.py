"""The search beside the bound's process: what that one finds is tried on the board, between steps of the search's own."""

from __future__ import annotations

from scheduling.fortnight.adopt import adopt
from scheduling.fortnight.bound import Bound
from scheduling.fortnight.columns import JobKey, Kind
from scheduling.fortnight.firstplan import likely_first
from scheduling.fortnight.search import Search

LIKELY_TRIES = 20
"""Boards started over from the orders that the linear optimum does."""


class Beside:
    """Takes up what a bound says. `step` does one thing; True if there is a new best board."""

    def __init__(self, bound: Bound, search: Search) -> None:
        self.bound, self.search = bound, search
        self.orders, self.kinds = search.orders, search.board.kinds
        self._likely = self._adopted = 0

    def step(self, heat: float) -> bool:
        """The newest that the bound said, or a step of the search at this temperature (cents)."""
        if self.bound.done and self._likely < LIKELY_TRIES and self.search.allowed is None:
            return self._start_over()
        if len(self.bound.teams) > self._adopted:
            return self._adopt()
        return self.search.step(heat)

    def _start_over(self) -> bool:
        self._likely += 1
        likely_first(self.orders, self.bound.done, self.search.rng)
        return self.search.keep_best()

    def _adopt(self) -> bool:
        self._adopted = len(self.bound.teams)
        teams = self.bound.teams[-1]
        adopt(self.orders, [(day, sum(1 << i for i in people), self._kinds_of(jobs)) for day, people, jobs in teams])
        return self.search.keep_best()

    def _kinds_of(self, jobs: list[list[JobKey]]) -> tuple[Kind, ...]:
        return tuple(self.kinds.get(tuple((o, k, v) for o, k, v in some)) for some in jobs)
