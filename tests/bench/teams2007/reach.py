"""Meet deadlines: what misses them goes to the bank, and ruin and rebuild empties the bank, the heaviest jobs first.

Jobs that stay in the bank grow heavier, so that sooner or later others make room for them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from tests.bench.teams2007.board import BANK, FAR, GIVEN, Board, Day
from tests.bench.teams2007.build import fill, some_teams
from tests.bench.teams2007.options import cheapest
from tests.bench.teams2007.reader import DAY

PATIENCE = 400
"""Steps without a smaller bank before an attempt is given up."""

WASTE_WEIGHT = 0.2
WARMTH = 0.05
POOL = 60


class Reach:
    """One attempt at some deadlines, from the plan on the board."""

    def __init__(self, b: Board, deadlines: list[int]) -> None:
        self.b = b
        self._aim(deadlines)
        self.weight = [v**0.7 for v in b.n.volume]
        self.per_time = sum(self.weight) / sum(b.n.volume)
        self.warm = WARMTH * sum(self.weight) / len(self.weight)
        self.urge = [1.0] * len(self.weight)

    def _aim(self, deadlines: list[int]) -> None:
        b = self.b
        b.set_deadlines(deadlines)
        for at, day in enumerate(b.days):
            for j in [j for j in day.start if b.last_day[j] < at]:
                b.drop_job(j)
            while late := [j for j, s in day.start.items() if at * DAY + s + b.n.duration[j] > b.due[j]]:
                if b.put_in_order(at):
                    break
                b.drop_job(b.rng.choice(late))
        b.open_days(-(-max(deadlines) // DAY))

    def run(self, over: Callable[[], bool]) -> bool:
        """Whether the bank could be emptied before the time or the patience was over."""
        b = self.b
        if any(b.last_day[j] < b.n.first_day[j] for j in b.n.jobs if j not in b.given):
            return False
        b.days = [day.copy() for day in b.days]
        fill(b, list(range(len(b.days))), list(b.bank), self.urge, 0.1)
        fewest, since, count = len(b.bank), 0, 0
        while b.bank and since <= PATIENCE and not over():
            count += 1
            self.step()
            since = 0 if len(b.bank) < fewest else since + 1
            fewest = min(fewest, len(b.bank))
            if count % 10 == 0:
                for j in b.bank:
                    self.weight[j] *= 1.1
                    self.urge[j] *= 1.05
        return not b.bank

    def step(self) -> None:
        """One ruin and rebuild, kept if the bank is not much heavier after it."""
        b = self.b
        if b.given and b.rng.random() < 0.04:
            self._swap_given()
            return
        bank = list(b.bank)
        job = b.rng.choice(bank)
        days = self._days(job)
        if days:
            _Ruin(self, job, bank, days).run()

    def _days(self, job: int) -> list[int]:
        b, last = self.b, len(self.b.days) - 1
        window = [d for d in range(b.n.first_day[job], min(b.last_day[job], last) + 1) if b.days[d].teams or b.days[d].free]
        if not window:
            return []
        day, draw = b.rng.choice(window), b.rng.random()
        if draw < 0.5:
            return [day]
        if draw < 0.85:
            return list(dict.fromkeys((day, b.rng.randrange(last + 1))))
        return [d for d in (day - 1, day, day + 1) if 0 <= d <= last]

    def bank_weight(self) -> float:
        """Weight of what waits."""
        return sum(self.weight[j] for j in self.b.bank)

    def keeps(self, new: float, old: float) -> bool:
        """Whether a change from the old to the new weight is kept."""
        return new <= old - self.warm * math.log(self.b.rng.random() + 1e-12)

    def _swap_given(self) -> None:
        """Take some jobs back from others and give others away instead."""
        b, rng, old, saved = self.b, self.b.rng, self.bank_weight(), self.b.save()
        ripe = [j for j in b.given if not any(b.day_of[p] == GIVEN for p in b.n.pred[j])]
        for j in rng.sample(ripe, min(len(ripe), rng.randint(1, 3))):
            b.take_back(j)
        b.days = [day.copy() for day in b.days]
        density = {j: self.weight[j] / max(1, b.n.cost[j]) * (0.5 + rng.random()) for j in b.bank}
        for j in sorted(density, key=lambda j: -density[j]):
            if j in b.bank:
                b.give(j)
        b.set_deadlines(b.deadlines)
        fill(b, list(range(len(b.days))), list(b.bank), self.urge, 0.3)
        if not self.keeps(self.bank_weight(), old):
            b.load(saved)
            b.set_deadlines(b.deadlines)


class _Ruin:
    """Some teams taken apart on some days, their jobs and the bank's placed again; undone if the bank got heavier."""

    def __init__(self, r: Reach, job: int, bank: list[int], days: list[int]) -> None:
        self.r, self.b, self.job, self.bank, self.days = r, r.b, job, bank, days
        self.before: dict[int, Day] = {}
        self.old = r.bank_weight()
        self.undo = [(j, BANK) for j in bank]

    def _touch(self, day: int) -> None:
        self.before[day] = self.b.days[day]
        self.b.days[day] = self.b.days[day].copy()
        self.old += self._waste(day)

    def _waste(self, day: int) -> float:
        return WASTE_WEIGHT * self.r.per_time * self.b.waste(day)

    def run(self) -> None:
        """Do it."""
        b, r = self.b, self.r
        removed = self._ruin()
        pool = removed + (
            self.bank
            if len(removed) + len(self.bank) <= POOL
            else b.rng.sample(self.bank, min(len(self.bank), max(10, POOL - len(removed))))
        )
        b.rng.shuffle(self.days)
        fill(b, self.days, pool, r.urge, b.rng.choice((0.1, 0.5, 1.0)))
        self._elsewhere(pool)
        new = r.bank_weight() + sum(self._waste(d) for d in self.before)
        if not r.keeps(new, self.old):
            self._restore()

    def _ruin(self) -> list[int]:
        b, rng = self.b, self.b.rng
        count = max(1, rng.randint(2, 6) // len(self.days))
        removed = []
        for day in self.days:
            self._touch(day)
            for team in some_teams(b, b.days[day].teams, count, 0.4):
                self.undo += [(j, day) for j in team.jobs]
                removed += b.drop_team(day, team)
        return removed

    def _elsewhere(self, pool: list[int]) -> None:
        """What found no place on the days: a few draws on other days."""
        b, rng, weight = self.b, self.b.rng, self.r.weight
        homeless = [j for j in pool if b.day_of[j] == BANK and (j == self.job or rng.random() < 0.7)]
        for j in sorted(homeless, key=lambda j: -weight[j] * rng.random())[:12]:
            last = min(b.last_day[j], len(b.days) - 1)
            others = [d for d in range(b.n.first_day[j], last + 1) if d not in self.before]
            for day in rng.sample(others, min(len(others), 5)):
                option = cheapest(b, j, day, 0.3) if b.may(j, day) else None
                if option is not None:
                    self._touch(day)
                    b.insert(j, day, option)
                    break

    def _restore(self) -> None:
        b = self.b
        for day, kept in self.before.items():
            b.days[day] = kept
        for j, day in self.undo:
            b.day_of[j] = day
            (b.bank.add if day == BANK else b.bank.discard)(j)


def finish(b: Board) -> bool:
    """Place what is left in the bank as early as it goes, deadlines or not, the urgent first; False if something has no place."""
    n = b.n
    b.set_deadlines([FAR] * 4)
    b.strict = True
    urgent = list(n.klass)
    for j in reversed(n.topo):
        urgent[j] = min([urgent[j], *(urgent[s] for s in n.succ[j])])
    for j in sorted(b.bank, key=lambda j: (urgent[j], n.rank[j])):
        for day in range(n.first_day[j], len(b.days) + 5):
            b.open_days(day + 1)
            option = cheapest(b, j, day, 0.3) if b.may(j, day) else None
            if option is not None:
                b.days[day] = b.days[day].copy()
                b.insert(j, day, option)
                break
    b.strict = False
    return not b.bank
