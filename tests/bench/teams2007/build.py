"""Whole plans day by day: the classes in a given order, each day filled greedily and then polished by ruin and rebuild."""

from __future__ import annotations

from collections.abc import Iterable

from tests.bench.teams2007.board import ANY, BANK, FAR, Board, Team
from tests.bench.teams2007.options import cheapest
from tests.bench.teams2007.reader import DAY

MOST_DAYS = 400
FIRST_TRIES = 2
SPARE_PEOPLE = ((0, ANY), (1, ANY), (0, 1, ANY), (ANY, ANY))
"""Passes of a filling: first only where no more people go than needed, then anywhere."""


def fill(b: Board, days: list[int], pool: Iterable[int], urge: list[float], noise: float) -> None:
    """Place what can be placed of a pool on some days, in a drawn order: urgent, large and long first."""
    rng, size, duration = b.rng, b.n.size, b.n.duration
    by_size, by_time = rng.choice((0.0, 0.5, 1.0, 2.0)), rng.choice((0.0, 0.5, 1.0))
    key = {j: urge[j] * size[j] ** by_size * duration[j] ** by_time * (1 + noise * (2 * rng.random() - 1)) for j in pool}
    again = sorted(key, key=lambda j: -key[j])
    idle = rng.uniform(0.0, 0.6)
    passes = rng.choice(SPARE_PEOPLE) + (ANY,) * (6 if b.strict else 0)
    for at, spare in enumerate(passes):
        rest = [j for j in again if not place(b, j, days, idle, spare)]
        if spare == ANY and at and (len(rest) == len(again) or not any(b.n.pred[j] for j in rest)):
            break
        again = rest if spare < ANY else [j for j in rest if b.n.pred[j]]


def place(b: Board, j: int, days: list[int], idle: float, spare: int = ANY) -> bool:
    """Place a job in the cheapest way on one of the days (copies already)."""
    best, where = None, -1
    for day in days:
        if b.may(j, day):
            option = cheapest(b, j, day, idle, spare)
            if option is not None and (best is None or option.cost < best.cost):
                best, where = option, day
                if option.cost <= 0:
                    break
    if best is not None:
        b.insert(j, where, best)
    return best is not None


def alike(b: Board, one: Team, other: Team) -> int:
    """How much two teams share: people and things needed."""
    return len(set(one.people) & set(other.people)) + (one.need & other.need).bit_count()


def some_teams(b: Board, teams: list[Team], count: int, like: float) -> list[Team]:
    """A drawn few of the teams, with chance `like` such as are alike."""
    count = min(count, len(teams))
    if teams and b.rng.random() < like:
        seed = b.rng.choice(teams)
        return sorted(teams, key=lambda team: -alike(b, team, seed) + b.rng.random())[:count]
    return b.rng.sample(teams, count)


class Builder:
    """One plan: what each job is worth, from the order of the classes."""

    def __init__(self, b: Board, order: tuple[int, ...], decay: float, noise: float) -> None:
        self.b, self.noise = b, noise
        n, rng = b.n, b.rng
        place_of = [order.index(k) for k in range(4)]
        self._outsource([decay ** -place_of[k] for k in n.klass])
        b.set_deadlines([FAR] * 4)
        urgent = [place_of[k] for k in n.klass]
        for j in reversed(n.topo):
            urgent[j] = min([urgent[j], *(urgent[s] for s in n.succ[j] if s not in b.given)])
        b.order = list(urgent)
        ratio = rng.choice((10.0, 100.0))
        chain = [1 + 0.5 * n.tail[j] / DAY for j in n.jobs]
        self.urge = [30.0 ** (3 - urgent[j]) * chain[j] for j in n.jobs]
        self.worth = [n.volume[j] * ratio ** (3 - urgent[j]) * chain[j] for j in n.jobs]

    def _outsource(self, worth: list[float]) -> None:
        """Give jobs to others: the most people-time for the money."""
        b, n = self.b, self.b.n
        scored = []
        for j in n.jobs if n.instance.budget else ():
            group = {j} | n.waiting[j]
            gain = sum(n.volume[x] * worth[x] for x in group)
            scored.append((gain / max(1, sum(n.cost[x] for x in group)) * (1 + self.noise * b.rng.random()), j))
        for _, j in sorted(scored, reverse=True):
            b.give(j)

    def build(self, polish: int) -> bool:
        """Day after day until all is placed; False if something never is."""
        b, day = self.b, 0
        b.strict = True
        while b.bank and day < MOST_DAYS:
            b.open_days(day + 1)
            start, tried = b.save(), []
            for _ in range(FIRST_TRIES):
                b.load(start)
                fill(b, [day], list(b.bank), self.urge, self.noise)
                tried.append((self._done(day), b.save()))
            b.load(max(tried, key=lambda found: found[0])[1])
            self._polish(day, polish)
            day += 1
        b.strict = False
        return not b.bank

    def _done(self, day: int) -> float:
        return sum(self.worth[j] for j in self.b.days[day].start)

    def _polish(self, day: int, steps: int) -> None:
        """Better teams for one day: the most worth done on it."""
        b = self.b
        now = top = self._done(day)
        best = b.save()
        for _ in range(steps):
            if not b.days[day].teams or not b.bank:
                break
            now = self._rebuild(day, now)
            if now > top:
                top, best = now, b.save()
        b.load(best)

    def _rebuild(self, day: int, now: float) -> float:
        """Take some teams apart and fill again; undone if too much is lost. What the day is worth then."""
        b, rng, before = self.b, self.b.rng, self.b.days[day]
        b.days[day] = before.copy()
        chosen = some_teams(b, before.teams, rng.randint(1, 4), 0.5)
        loss = 0.1 * rng.random() ** 2 * sum(self.worth[j] for team in chosen for j in team.jobs)
        removed = [j for team in chosen for j in b.drop_team(day, team)]
        ready = sorted((j for j in b.bank if b.may(j, day)), key=lambda j: -self.urge[j] * rng.random())
        fill(b, [day], dict.fromkeys(removed + ready[:25]), self.urge, rng.choice((0.1, 0.5, 1.0)))
        whole = all(b.day_of[p] != BANK for j in b.days[day].start for p in b.n.pred[j])
        then = self._done(day)
        if whole and then >= now - loss:
            return then
        for j in b.days[day].start:
            b.day_of[j] = BANK
            b.bank.add(j)
        b.days[day] = before
        for j in before.start:
            b.day_of[j] = day
            b.bank.discard(j)
        return now
