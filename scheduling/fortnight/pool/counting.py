"""Counting out the routes of all days, half of the days in a second process where there are hands for it."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing.connection import Connection

from scheduling.fortnight.columns import Kind
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.pool.crews import Crews
from scheduling.fortnight.pool.day import DayRoutes, Routes
from scheduling.fortnight.pool.dominance import Dominance
from scheduling.fortnight.pool.sequences import TooMany

Late = Callable[[], bool]
Counted = dict[int, list[Routes]]


def count_routes(facts: Facts, kinds: list[Kind], most: int, late: Late, hands: int = 1) -> Counted:
    """Routes of each day that has any. `most`: of one day and team size. TooMany if there are more, or when it is late.

    With two hands, a copy of this process (fork) counts every other day; it ends with its work, or with this process's.
    """
    count = _Count(facts, kinds, most, late)
    days = list(range(facts.days))
    if hands < 2 or len(days) < 2 or "fork" not in multiprocessing.get_all_start_methods():
        return count.days(days)
    fork = multiprocessing.get_context("fork")
    ours, theirs = fork.Pipe(duplex=False)
    other = fork.Process(target=count.send, args=(days[1::2], theirs), daemon=True)
    other.start()
    theirs.close()
    try:
        found = count.days(days[::2])
        answer = _received(ours)
    finally:
        other.kill()
        other.join()
    if answer is None:
        raise TooMany
    return dict(sorted({**found, **answer}.items()))


def _received(ours: Connection) -> Counted | None:
    try:
        answer: Counted | None = ours.recv()
    except EOFError:  # it ended before its work was done
        return None
    return answer


class _Count:
    """Counts days out."""

    def __init__(self, facts: Facts, kinds: list[Kind], most: int, late: Late) -> None:
        self.facts, self.kinds, self.most, self.late = facts, kinds, most, late
        self.crews, self.dominance = Crews(facts), Dominance(facts, kinds)

    def days(self, days: list[int]) -> Counted:
        """The routes of these days."""
        found: Counted = {}
        for day in days:
            if self.late():
                raise TooMany
            if routes := DayRoutes(self.facts, self.kinds, self.crews, self.dominance, day, self.most).all():
                found[day] = routes
        return found

    def send(self, days: list[int], pipe: Connection) -> None:
        """The routes of these days through a pipe; None if there are too many. What this process says, its parent says."""
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        asked, parent = self.late, os.getppid()
        self.late = lambda: asked() or os.getppid() != parent
        try:
            pipe.send(self.days(days))
        except TooMany:
            pipe.send(None)
