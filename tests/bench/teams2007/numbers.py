"""An instance turned into numbers for the search: jobs and people counted from 0, needs packed, chains, people-time."""

from __future__ import annotations

import random

from scheduling.fortnight.teaming import MOST_PEOPLE, Pool, scarcities
from tests.bench.teams2007.reader import DAY, Instance

BOTTLENECK = 1.05
"""A skill asked for this much more than people at all is one that the plan waits for."""


class Numbers:
    """Look-up tables. Classes 0..3 are the priorities 1..4; days count from 0; `size` is the fewest people found for a job."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.jobs, self.people = range(len(instance.jobs)), range(len(instance.people))
        self.duration = [job.duration for job in instance.jobs]
        self.klass = [job.priority - 1 for job in instance.jobs]
        self.cost = [job.cost for job in instance.jobs]
        self.pred = [tuple(a - 1 for a in job.after) for job in instance.jobs]
        self.succ = [tuple(s for s in self.jobs if j in self.pred[s]) for j in self.jobs]
        self._chains()
        self._crewing()
        self._present: dict[int, list[int]] = {}

    def present(self, day: int) -> list[int]:
        """Who is there on a day."""
        if day not in self._present:
            self._present[day] = [i for i in self.people if day + 1 not in self.instance.people[i].away]
        return self._present[day]

    def _chains(self) -> None:
        """Jobs with predecessors first; the time a chain still takes; all that waits for a job; its earliest day."""
        left = [len(p) for p in self.pred]
        self.topo = [j for j in self.jobs if not left[j]]
        for j in self.topo:
            for s in self.succ[j]:
                left[s] -= 1
                if not left[s]:
                    self.topo.append(s)
        self.rank = [0] * len(self.jobs)
        for at, j in enumerate(self.topo):
            self.rank[j] = at
        self.tail = [0] * len(self.jobs)
        self.waiting: list[set[int]] = [set() for _ in self.jobs]
        for j in reversed(self.topo):
            self.tail[j] = self.duration[j] + max((self.tail[s] for s in self.succ[j]), default=0)
            for s in self.succ[j]:
                self.waiting[j] |= {s} | self.waiting[s]
        self._earliest()

    def _earliest(self) -> None:
        end = [0] * len(self.jobs)
        self.first_day = [0] * len(self.jobs)
        for j in self.topo:
            start = max((end[p] for p in self.pred[j]), default=0)
            if start % DAY + self.duration[j] > DAY:
                start = -(-start // DAY) * DAY
            end[j] = start + self.duration[j]
            self.first_day[j] = start // DAY

    def _crewing(self) -> None:
        """People and needs in the terms of the crewing core: a thing is a domain at a level or above."""
        things = [(d, level) for d in range(self.instance.domains) for level in range(1, self.instance.levels + 1)]
        people = self.instance.people
        holders = [sum(1 << i for i in self.people if people[i].levels[d] >= level) for d, level in things]
        counts = [[job.needs[d][level - 1] for d, level in things] for job in self.instance.jobs]
        demand = [float(sum(c[k] * t for c, t in zip(counts, self.duration, strict=True))) for k in range(len(things))]
        ratio = [amount / max(1, mask.bit_count()) for amount, mask in zip(demand, holders, strict=True)]
        top = max(ratio) or 1.0
        scarce = scarcities([(mask, amount / top) for mask, amount in zip(holders, demand, strict=True)], len(people))
        self.pool = Pool(holders, len(people), [0.2 + s for s in scarce])
        self.need = [self.pool.pack(c) for c in counts]
        self.size = [self._fewest(need, max(c)) for need, c in zip(self.need, counts, strict=True)]
        self._price(holders, ratio)

    def _fewest(self, need: int, least: int) -> int:
        """The fewest people found for a need in some draws."""
        rng, best = random.Random(0), MOST_PEOPLE
        for _ in range(40):
            who = self.pool.cover(need, self.people, draw=rng.random)
            best = min(best, MOST_PEOPLE if who is None else len(who))
            if best <= least:
                break
        return max(1, best)

    def _price(self, holders: list[int], ratio: list[float]) -> None:
        """People-time of each job; people whom the plan waits for count more."""
        fair = sum(s * t for s, t in zip(self.size, self.duration, strict=True)) / len(self.people)
        price = [1.0] * len(self.people)
        for i in self.people:
            over = max((r / fair for mask, r in zip(holders, ratio, strict=True) if mask >> i & 1), default=0.0)
            if over > BOTTLENECK:
                price[i] += 10.0 * (over - 1.0)
                self.pool.scarcity[i] *= price[i]
        self.volume = []
        for need, size, duration in zip(self.need, self.size, self.duration, strict=True):
            who = self.pool.cover(need, self.people) or list(self.people)
            self.volume.append(duration * max(float(size), size - len(who) + sum(price[i] for i in who)))
