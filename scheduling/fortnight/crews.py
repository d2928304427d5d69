"""Who goes: sets of people that suit a kind on a day, plain people before scarce ones."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, islice

from scheduling.fortnight.board import Board, Team
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.teaming import scarcities

MOST_TRIED = 4000
MOST_KEPT = 150


class Crews:
    """Sets of people by day and kind, kept once found."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._scarcity = self._scarcities()
        self._sets: dict[tuple[int, int, tuple[tuple[str, int, int], ...]], list[int]] = {}

    def _scarcities(self) -> list[float]:
        """How much is lost by sending a person where anybody would do: demand over supply of what they hold."""
        f = self.board.facts
        asked = []
        for need in (n for o in f.problem.orders for n in o.needs):
            holders = 0
            for day in range(f.days):
                holders |= f.holders(need.skill, need.level, day)
            asked.append((holders, float(need.count)))
        return scarcities(asked, len(f.problem.people))

    def free(self, day: int, kind: Kind) -> Iterator[int]:
        """Sets of the least number of people that suit the kind and are not busy that day."""
        busy = self.board.busy[day]
        return islice((mask for mask in self.sets(day, kind) if not mask & busy), 4)

    def sets(self, day: int, kind: Kind) -> list[int]:
        """Sets of people that suit the kind, least scarce first."""
        key = (day, kind.team, kind.needs)
        if key not in self._sets:
            people = sorted(self.board.facts.members_of(self.board.facts.fit[day]), key=lambda i: self._scarcity[i])
            self._sets[key] = self._suiting(day, kind, people, kind.team) or self._suiting(day, kind, people, kind.team + 1)
        return self._sets[key]

    def _suiting(self, day: int, kind: Kind, people: list[int], size: int) -> list[int]:
        tried = islice(combinations(people, size), MOST_TRIED)
        masks = [sum(1 << i for i in chosen) for chosen in tried]
        fitting = [mask for mask in masks if self.board.suits(day, mask, kind)]
        fitting.sort(key=self.scarcity)
        return fitting if len(people) <= 16 else fitting[:MOST_KEPT]

    def scarcity(self, mask: int) -> float:
        """Summed scarcity of a set."""
        return sum(self._scarcity[i] for i in self.board.facts.members_of(mask))

    def one_more(self, day: int, team: Team, kind: Kind) -> list[int]:
        """The team with one free person more so that it suits the kind; the least scarce such person only."""
        b = self.board
        free = sorted(b.facts.members_of(b.facts.fit[day] & ~b.busy[day]), key=lambda i: self._scarcity[i])
        for person in free:
            mask = team.mask | 1 << person
            if b.suits(day, mask, kind) and b.vehicles_for(day, team, mask.bit_count()) and b.pairs_kept(day, team, mask):
                return [mask]
        return []
