"""Sets of people for a set of needs: those from which nobody can be spared.

A larger team never costs less than a part of it that suits as well, so plans of least cost need no others.
"""

from __future__ import annotations

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.teamsize import Needs

Signature = tuple[int, Needs]
"""(least number of people, what they must hold together)."""


class Crews:
    """Suitable sets of people as masks, by day and signature, kept once found."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.seats = max((v.seats for v in facts.problem.vehicles), default=0)
        self._known: dict[tuple[int, Signature], tuple[int, ...]] = {}

    def of(self, day: int, signature: Signature) -> tuple[int, ...]:
        """All masks of fit people that meet the signature and of which no part does, in order of size."""
        key = (day, signature)
        if key not in self._known:
            self._known[key] = self._find(day, signature)
        return self._known[key]

    def _find(self, day: int, signature: Signature) -> tuple[int, ...]:
        f, (team, needs) = self.facts, signature
        asked = [(f.holders(skill, level, day), count) for skill, level, count in needs]
        asked += [(f.rescue[day], f.problem.rules.rescue_pair), (f.fit[day], team)]
        asked.sort(key=lambda need: need[0].bit_count())
        level, found = {0}, set[int]()
        for _ in range(self.seats + 1):
            done = {mask for mask in level if all((mask & who).bit_count() >= n for who, n in asked)}
            found |= {mask for mask in done if _nobody_to_spare(mask, asked)}
            level = {grown for mask in level - done for grown in self._one_more(mask, asked)}
        return tuple(sorted(found, key=lambda mask: (mask.bit_count(), mask)))

    def _one_more(self, mask: int, asked: list[tuple[int, int]]) -> list[int]:
        """The mask with each person who helps with the first need it does not meet."""
        who = next(holders for holders, count in asked if (mask & holders).bit_count() < count)
        shut = mask
        for a, b in self.facts.apart:
            shut |= (1 << b if mask >> a & 1 else 0) | (1 << a if mask >> b & 1 else 0)
        return [mask | 1 << i for i in self.facts.members_of(who & ~shut)]


def _nobody_to_spare(mask: int, asked: list[tuple[int, int]]) -> bool:
    rest, one = mask, 0
    while rest:
        one = rest & -rest
        rest ^= one
        if all(((mask ^ one) & who).bit_count() >= n for who, n in asked):
            return False
    return True
