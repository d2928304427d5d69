"""How many people a set of needs takes on a day with the people there are: skills, rescue, pairs kept apart, all together."""

from __future__ import annotations

from scheduling.fortnight.facts import Facts

Needs = tuple[tuple[str, int, int], ...]
NOBODY = 99
"""A team size that no day offers."""


class TeamSizes:
    """Least team sizes by day and needs, kept once found."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.seats = max((v.seats for v in facts.problem.vehicles), default=0)
        self._known: dict[tuple[int, Needs, int], int] = {}

    def least(self, day: int, needs: Needs, team: int) -> int:
        """The fewest people, at least `team`, among whom the needs are met; NOBODY if no team of the day can."""
        key = (day, needs, team)
        if key not in self._known:
            sizes = range(team, min(self.seats, self.facts.fit[day].bit_count()) + 1)
            self._known[key] = next((size for size in sizes if self._exists(day, needs, size)), NOBODY)
        return self._known[key]

    def _exists(self, day: int, needs: Needs, size: int) -> bool:
        f = self.facts
        asked = [(f.holders(skill, level, day), count) for skill, level, count in needs]
        asked += [(f.rescue[day], f.problem.rules.rescue_pair), (f.fit[day], size)]
        asked.sort(key=lambda need: need[0].bit_count())
        return self._grow(0, size, asked)

    def _grow(self, mask: int, size: int, asked: list[tuple[int, int]]) -> bool:
        """Whether the people in the mask can be filled up to a team that meets everything asked for."""
        for holders, count in asked:
            short = count - (mask & holders).bit_count()
            if short > 0:
                if short > size - mask.bit_count():
                    return False
                return any(self._grow(mask | 1 << i, size, asked) for i in self._next(mask, holders))
        return True

    def _next(self, mask: int, holders: int) -> list[int]:
        """People who may join the mask."""
        shut = 0
        for a, b in self.facts.apart:
            shut |= (1 << b if mask >> a & 1 else 0) | (1 << a if mask >> b & 1 else 0)
        return self.facts.members_of(holders & ~mask & ~shut)


def merged(needs: list[Needs]) -> Needs:
    """The needs of several visits of one team: for each skill and level the largest count."""
    most: dict[tuple[str, int], int] = {}
    for some in needs:
        for skill, level, count in some:
            most[skill, level] = max(count, most.get((skill, level), 0))
    return tuple((skill, level, count) for (skill, level), count in sorted(most.items()))
