"""Who goes: sets of people that suit a kind on a day, plain people before scarce ones."""

from __future__ import annotations

from collections.abc import Iterator
from heapq import nsmallest
from itertools import combinations, islice

from scheduling.fortnight.board import Board, Team
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.teaming import scarcities

FIRST = 4
MOST_TRIED = 4000
MOST_KEPT = 150


class Crews:
    """Sets of people by day and kind, kept once found."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._scarcity = self._scarcities()
        self._sets: dict[tuple[int, int, tuple[tuple[str, int, int], ...], int], list[int]] = {}

    def _scarcities(self) -> list[float]:
        """How much is lost by sending a person where anybody would do: demand over supply of what they hold."""
        f = self.board.facts
        asked = []
        for need in (n for o in f.problem.orders for n in o.needs):
            holders = 0
            for day in range(f.days):
                holders |= f.holders(need.skill, need.level, day)
            asked.append((holders, float(need.count)))
        named = [(1 << person, 1.0) for mask in f.company.crew.values() for person in f.members_of(mask)]
        return scarcities([*asked, *named], len(f.problem.people))

    def free(self, day: int, kind: Kind, some: int = -1) -> Iterator[int]:
        """Sets of the least number of people that suit the kind, are not busy that day and hold one of `some` (a mask).

        The least scarce; where people differ in what they cost that day, the cheapest first, the published team before them.
        """
        busy, company = self.board.busy[day], self.board.facts.company
        fitting = (mask for mask in self.sets(day, kind) if not mask & busy and mask & some)
        told = kind.fields[day].told
        if not (told or company.likes or company.hired):
            return islice(fitting, FIRST)
        found = list(fitting)
        known = [mask for _, mask, _ in told if not mask & busy and mask & some and self.board.suits(day, mask, kind)]
        cheapest = nsmallest(FIRST, found, key=lambda mask: self._price(day, kind, mask))
        return iter(dict.fromkeys([*known, *cheapest, *found[: FIRST // 2]]))

    def _price(self, day: int, kind: Kind, mask: int) -> float:
        """What these people cost as a new team; half a pair's price where the other one may still go out with others."""
        f, busy = self.board.facts, self.board.busy[day]
        apart = f.company.split(mask, busy) + 0.5 * f.company.split(mask, f.fit[day] & ~busy & ~mask)
        missing = min((cents * (people & ~mask).bit_count() for _, people, cents in kind.fields[day].told), default=0.0)
        return f.company.hire_cents(mask) + apart * f.company.pair_cents + missing

    def sets(self, day: int, kind: Kind) -> list[int]:
        """Sets of people that suit the kind, least scarce first; whom the kind's crew names is in all of them."""
        key = (day, kind.team, kind.needs, kind.crew)
        if key not in self._sets:
            fit = self.board.facts.fit[day] & ~kind.crew
            people = sorted(self.board.facts.members_of(fit), key=lambda i: self._scarcity[i])
            more = kind.team - (kind.crew & self.board.facts.fit[day]).bit_count()
            self._sets[key] = self._suiting(day, kind, people, more) or self._suiting(day, kind, people, more + 1)
        return self._sets[key]

    def _suiting(self, day: int, kind: Kind, people: list[int], more: int) -> list[int]:
        """Sets of the kind's crew and so many more, out of the first combinations of people (and of the cheapest ones)."""
        company = self.board.facts.company
        tried = [*islice(combinations(people, more), MOST_TRIED)]
        if company.hired and len(tried) == MOST_TRIED:
            own_first = sorted(people, key=lambda i: company.day_cost[i])
            tried = [*dict.fromkeys([*tried, *islice(combinations(own_first, more), MOST_TRIED)])]
        masks = [kind.crew | sum(1 << i for i in chosen) for chosen in tried]
        fitting = [mask for mask in dict.fromkeys(masks) if self.board.suits(day, mask, kind)]
        fitting.sort(key=self.scarcity)
        return fitting if len(people) <= 16 else self._kept(fitting)

    def _kept(self, fitting: list[int]) -> list[int]:
        """The least scarce sets, and the least scarce of the cheapest and of those with whole preferred pairs."""
        company, kept = self.board.facts.company, fitting[:MOST_KEPT]
        if company.hired:
            kept += sorted(fitting, key=company.hire_cents)[:MOST_KEPT]
        if company.likes:
            kept += sorted(fitting, key=lambda mask: company.split(mask, ~mask) - 2 * company.split(mask, mask))[:MOST_KEPT]
        return list(dict.fromkeys(kept))

    def scarcity(self, mask: int) -> float:
        """Summed scarcity of a set."""
        return sum(self._scarcity[i] for i in self.board.facts.members_of(mask))

    def one_more(self, day: int, team: Team, kind: Kind) -> list[int]:
        """The team with whom the kind names and at most one free person more so that it suits; the cheapest, least scarce one."""
        b, named = self.board, team.mask | kind.crew
        if named & ~team.mask & b.busy[day]:
            return []
        if named != team.mask and self._may(day, team, named, kind):
            return [named]
        free = b.facts.members_of(b.facts.fit[day] & ~b.busy[day] & ~named)
        for person in sorted(free, key=lambda i: (self._more_cents(day, team, i), self._scarcity[i])):
            if self._may(day, team, named | 1 << person, kind):
                return [named | 1 << person]
        return []

    def _may(self, day: int, team: Team, mask: int, kind: Kind) -> bool:
        b = self.board
        return b.suits(day, mask, kind) and b.vehicles_for(day, team, mask.bit_count()) and b.pairs_kept(day, team, mask)

    def _more_cents(self, day: int, team: Team, person: int) -> float:
        """What one more person of a team costs by themselves; a partner in the team counts in their favour."""
        company = self.board.facts.company
        if not company.likes:
            return company.day_cost[person]
        apart = company.split(1 << person, self.board.busy[day] & ~team.mask) - company.split(1 << person, team.mask)
        return company.day_cost[person] + apart * company.pair_cents
