"""Forming teams: people as bits, what a need asks for, and few people who meet it, plain people before scarce ones.

A *thing* is whatever is counted over a team: a skill at a level or above, a rescue certificate, membership. `holders` says
for each thing who has it, as a set of people (an int with bit i for person i); a need is a count for each thing. `Pool` keeps
the counts of all things in one int, a field of `WIDTH` bits each, so that one subtraction compares a team with a need, however
many things there are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

WIDTH = 9
"""Bits of a field; its top bit is a guard, so that counts go up to 255."""

MOST_PEOPLE = 2 ** (WIDTH - 1) - 1


def members_of(mask: int) -> list[int]:
    """Numbers of the people in a set, ascending."""
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return found


def meets(mask: int, asked: Iterable[tuple[int, int]]) -> bool:
    """Whether a set of people holds everything asked for: (holders, how many of them)."""
    return all((mask & holders).bit_count() >= count for holders, count in asked)


def scarcities(asked: Iterable[tuple[int, float]], people: int) -> list[float]:
    """For each person what is lost by sending them where anybody would do: demand over supply, summed over what they hold.

    `asked`: (holders, demand). The person's number breaks ties.
    """
    scarcity = [0.0] * people
    for holders, demand in asked:
        for person in members_of(holders):
            scarcity[person] += demand / holders.bit_count()
    return [value + 0.001 * person for person, value in enumerate(scarcity)]


class Pool:
    """People and the things they hold, as packed counts. A team's number is the sum of `holds` over its people."""

    def __init__(self, holders: Sequence[int], people: int, scarcity: Sequence[float]) -> None:
        self.ones = sum(1 << k * WIDTH for k in range(len(holders)))
        self.top = self.ones << WIDTH - 1
        self.low = self.top - self.ones
        self.holds = [sum((mask >> i & 1) << k * WIDTH for k, mask in enumerate(holders)) for i in range(people)]
        self.scarcity = list(scarcity)

    def pack(self, counts: Sequence[int]) -> int:
        """A need as one number: a count for each thing, in the order of the holders."""
        return sum(count << k * WIDTH for k, count in enumerate(counts))

    def team(self, people: Iterable[int]) -> int:
        """What people hold together."""
        return sum(self.holds[i] for i in people)

    def suits(self, team: int, need: int) -> bool:
        """Whether a team holds at least what is needed of every thing."""
        return ((team | self.top) - need) & self.top == self.top

    def larger(self, one: int, other: int) -> int:
        """Thing by thing the larger count: what a team needs that meets both."""
        kept = ((one | self.top) - other) & self.top
        mask = kept - (kept >> WIDTH - 1)
        return (one & mask) | (other ^ (other & mask))

    def short(self, team: int, need: int) -> int:
        """Thing by thing how many are missing."""
        rest = (need | self.top) - team
        more = rest & self.top
        return rest & (more - (more >> WIDTH - 1))

    def things_short(self, team: int, need: int) -> int:
        """Of how many things some are missing."""
        return ((self.short(team, need) + self.low) & self.top).bit_count()

    def cover(self, need: int, free: Sequence[int], team: int = 0, draw: Callable[[], float] | None = None) -> list[int] | None:
        """Few and plain people of `free` with whom a team meets the need; None if there are none.

        Greedy: whoever holds the most missing things for their scarcity comes next; whoever proves needless is let go again.
        `draw` (numbers in 0..1) varies the choice.
        """
        if self.suits(team, need):
            return []
        if not self.suits(team + self.team(free), need):
            return None
        left, chosen = list(free), list[int]()
        while short := self.short(team, need):
            who = self._most_useful(((short + self.low) & self.top) >> WIDTH - 1, left, draw)
            left.remove(who)
            chosen.append(who)
            team += self.holds[who]
        return self._needed(chosen, team, need)

    def _most_useful(self, missing: int, left: list[int], draw: Callable[[], float] | None) -> int:
        best, who = 0.0, -1
        for i in left:
            count = (missing & self.holds[i]).bit_count()
            if count:
                worth = count * count / (self.scarcity[i] + (0.15 * draw() if draw else 0.0))
                if worth > best:
                    best, who = worth, i
        return who

    def _needed(self, chosen: list[int], team: int, need: int) -> list[int]:
        if len(chosen) > 1:
            for i in sorted(chosen, key=lambda i: -self.scarcity[i]):
                if self.suits(team - self.holds[i], need):
                    team -= self.holds[i]
                    chosen.remove(i)
        return chosen
