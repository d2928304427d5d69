"""Nights that a board holds one half of: a team sleeps at a lodging and nobody starts there the next day, or the reverse."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import date, timedelta
from itertools import pairwise

from scheduling.fortnight.board import Board, Ends


class Hanging:
    """Looks at the days beside a day. Costs nothing where there are no lodgings."""

    def __init__(self, board: Board) -> None:
        self.board, days = board, board.facts.problem.days
        self.used = bool(board.facts.problem.lodgings)
        dates = [date.fromisoformat(day.date) for day in days] if self.used else []
        self.next_date = [b - a == timedelta(days=1) for a, b in pairwise(dates)]

    def as_of(self, day: int) -> Hashable:
        """Versions of the days that a new team of the day depends on."""
        version = self.board.version
        return tuple(version[max(0, day - 1) : day + 2]) if self.used else version[day]

    def on(self, day: int) -> list[tuple[int, Ends]]:
        """People (mask) with where they must start from and sleep, whose other half of a night waits for them on this day."""
        if not self.used:
            return []
        found: dict[int, Ends] = {}
        for team in self.before(day):
            found[team] = (self.slept(day - 1, team), 0)
        for team in self.after(day):
            found[team] = (found.get(team, (0, 0))[0], self.leaves(day + 1, team))
        return [(mask, ends) for mask, ends in found.items() if not mask & self.board.busy[day]]

    def before(self, day: int) -> list[int]:
        """People who sleep at a lodging before this day."""
        return [t.mask for t in self.board.teams[day - 1] if t.ends[1]] if day and self.next_date[day - 1] else []

    def after(self, day: int) -> list[int]:
        """People who start from a lodging on the day after."""
        last = day + 1 >= len(self.board.teams)
        return [] if last or not self.next_date[day] else [t.mask for t in self.board.teams[day + 1] if t.ends[0]]

    def slept(self, day: int, mask: int) -> int:
        """Where these people sleep after a day, 0 at home."""
        return next((t.ends[1] for t in self.board.teams[day] if t.mask == mask), 0)

    def leaves(self, day: int, mask: int) -> int:
        """Where these people start from on a day, 0 at home."""
        return next((t.ends[0] for t in self.board.teams[day] if t.mask == mask), 0)
