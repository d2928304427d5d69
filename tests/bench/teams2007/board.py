"""Days, teams and jobs in the making: always within the rules. Jobs without a place wait in the bank.

Teams are replaced, never changed, so that a copied day may share them.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import NamedTuple

from tests.bench.teams2007.evaluate import Plan, Visit
from tests.bench.teams2007.numbers import Numbers
from tests.bench.teams2007.reader import DAY
from tests.bench.teams2007.timing import rescheduled

BANK, GIVEN = -1, -2
"""Where a job is that is on no day: waiting, or given to others."""

FAR = 10**9
ANY = 99
"""Any number of people too many."""


class Team(NamedTuple):
    """People, what they hold and what their jobs need (packed), jobs in order of time, their time together."""

    people: list[int]
    holds: int
    need: int
    jobs: list[int]
    load: int


@dataclass(slots=True)
class Day:
    """Teams, people in no team, and the start of each job."""

    teams: list[Team]
    free: list[int]
    start: dict[int, int]

    def copy(self) -> Day:
        return Day(self.teams.copy(), self.free.copy(), self.start.copy())


class Option(NamedTuple):
    """A way to do a job: its cost, the team (-1: a new one), people who join, its start or new starts of the whole day."""

    cost: float
    team: int
    join: list[int]
    start: int | dict[int, int]


class Saved(NamedTuple):
    """A board to come back to."""

    days: list[Day]
    day_of: list[int]
    bank: set[int]
    given: set[int]
    spent: int


class Board:
    """Jobs on days, in the bank, or given to others. With `strict`, nothing is placed before its predecessors are."""

    def __init__(self, numbers: Numbers, rng: random.Random) -> None:
        self.n, self.rng = numbers, rng
        self.days: list[Day] = []
        self.day_of = [BANK] * len(numbers.jobs)
        self.bank, self.given, self.spent = set(numbers.jobs), set[int](), 0
        self.strict = False
        self.set_deadlines([FAR] * 4)

    # --- deadlines and places ---------------------------------------------------------------------------------------

    def set_deadlines(self, deadlines: list[int]) -> None:
        """Latest ends by class (absolute), and from them, through chains of successors, the last day of each job."""
        n = self.n
        self.deadlines = list(deadlines)
        self.due = [min(deadlines[k], deadlines[3]) for k in n.klass]
        late, self.order = self.due.copy(), self.due.copy()
        for j in reversed(n.topo):
            for s in n.succ[j]:
                self.order[j] = min(self.order[j], self.order[s] - n.duration[s])
                if s not in self.given:
                    late[j] = min(late[j], late[s] - n.duration[s])
            if late[j] % DAY and late[j] % DAY < n.duration[j]:
                late[j] -= late[j] % DAY
        self.last_day = [(late[j] - n.duration[j]) // DAY for j in n.jobs]

    def may(self, j: int, day: int) -> bool:
        """Whether precedence and deadlines leave the day to the job."""
        if day > self.last_day[j] or day < self.n.first_day[j]:
            return False
        day_of = self.day_of
        for p in self.n.pred[j]:
            if day_of[p] > day or day_of[p] == GIVEN or (self.strict and day_of[p] == BANK):
                return False
        return not any(-1 < day_of[s] < day for s in self.n.succ[j])

    def gap(self, day: int, team: Team | None, j: int) -> int:
        """A start for the job in the team's day as it stands, or -1."""
        n, day_of, start, duration = self.n, self.day_of, self.days[day].start, self.n.duration
        low, high, mine = 0, min(DAY, self.due[j] - day * DAY), duration[j]
        for p in n.pred[j]:
            if day_of[p] == day:
                low = max(low, start[p] + duration[p])
        for s in n.succ[j]:
            if day_of[s] == day:
                high = min(high, start[s])
        if high - low < mine:
            return -1
        for x in team.jobs if team is not None else ():
            if start[x] - low >= mine:
                break
            low = max(low, start[x] + duration[x])
        return low if high - low >= mine else -1

    def timely(self, day: int, team: int, j: int, deep: bool) -> int | dict[int, int] | None:
        """A start for the job with the team (-1: a new one), or with `deep` new starts of the whole day; None if neither."""
        at = self.gap(day, self.days[day].teams[team] if team >= 0 else None, j)
        if at >= 0:
            return at
        return self.reschedule(day, team, j) if deep else None

    def reschedule(self, day: int, team: int = -1, extra: int | None = None) -> dict[int, int] | None:
        """Starts of all jobs of the day anew, with one more job if asked; None if that does not keep the deadlines."""
        teams = self.days[day].teams
        group = {x: k for k, other in enumerate(teams) for x in other.jobs}
        if extra is not None:
            group[extra] = team if team >= 0 else len(teams)
        return rescheduled(self.n, group, self.due, self.order, day * DAY)

    # --- changes ----------------------------------------------------------------------------------------------------

    def insert(self, j: int, day_at: int, option: Option) -> None:
        """Carry an option out on a day that is a copy."""
        n, day = self.n, self.days[day_at]
        for i in option.join:
            day.free.remove(i)
        if isinstance(option.start, dict):
            day.start = option.start
        else:
            day.start[j] = option.start
        if option.team < 0:
            people = list(option.join) or [day.free.pop()]
            day.teams.append(Team(people, n.pool.team(people), n.need[j], [j], n.duration[j]))
        else:
            old = day.teams[option.team]
            jobs = sorted([*old.jobs, j], key=day.start.__getitem__)
            people, holds = [*old.people, *option.join], old.holds + n.pool.team(option.join)
            day.teams[option.team] = Team(people, holds, n.pool.larger(old.need, n.need[j]), jobs, old.load + n.duration[j])
        if isinstance(option.start, dict):
            self._sort(day)
        self.day_of[j] = day_at
        self.bank.discard(j)

    def _sort(self, day: Day) -> None:
        day.teams[:] = [team._replace(jobs=sorted(team.jobs, key=day.start.__getitem__)) for team in day.teams]

    def drop_team(self, day_at: int, team: Team) -> list[int]:
        """Take a team apart (its day is a copy); its jobs go to the bank."""
        day = self.days[day_at]
        day.teams.remove(team)
        day.free += team.people
        for j in team.jobs:
            self.day_of[j] = BANK
            del day.start[j]
            self.bank.add(j)
        return team.jobs

    def drop_job(self, j: int) -> None:
        """Take a job off its team, and people who are then not needed; it goes to the bank."""
        day = self.days[self.day_of[j]]
        at = next(k for k, team in enumerate(day.teams) if j in team.jobs)
        old, jobs = day.teams[at], [x for x in day.teams[at].jobs if x != j]
        self.day_of[j] = BANK
        del day.start[j]
        self.bank.add(j)
        if jobs:
            day.teams[at] = self._smaller(day, old, jobs)
        else:
            day.teams.pop(at)
            day.free += old.people

    def _smaller(self, day: Day, old: Team, jobs: list[int]) -> Team:
        n, pool, need = self.n, self.n.pool, 0
        for x in jobs:
            need = pool.larger(need, n.need[x])
        people, holds = list(old.people), old.holds
        for i in sorted(people, key=lambda i: -pool.scarcity[i]):
            if len(people) > 1 and pool.suits(holds - pool.holds[i], need):
                holds -= pool.holds[i]
                people.remove(i)
                day.free.append(i)
        return Team(people, holds, need, jobs, sum(n.duration[x] for x in jobs))

    def give(self, j: int) -> bool:
        """Give a job and all that waits for it to others, if the budget is enough."""
        group = [x for x in {j} | self.n.waiting[j] if x not in self.given]
        cost = sum(self.n.cost[x] for x in group)
        if self.spent + cost > self.n.instance.budget:
            return False
        for x in group:
            if self.day_of[x] >= 0:
                self.drop_job(x)
            self.day_of[x] = GIVEN
            self.bank.discard(x)
            self.given.add(x)
        self.spent += cost
        return True

    def take_back(self, j: int) -> None:
        """Do a job ourselves that was given to others; it goes to the bank."""
        self.given.discard(j)
        self.spent -= self.n.cost[j]
        self.day_of[j] = BANK
        self.bank.add(j)

    def open_days(self, count: int) -> None:
        """See to it that there are so many days."""
        while len(self.days) < count:
            self.days.append(Day([], list(self.n.present(len(self.days))), {}))

    def put_in_order(self, day_at: int) -> bool:
        """Start everything on a day as early as the order of deadlines lets it; False if that misses one."""
        starts = self.reschedule(day_at)
        if starts is None:
            return False
        day = self.days[day_at] = self.days[day_at].copy()
        day.start = starts
        self._sort(day)
        return True

    # --- reading ----------------------------------------------------------------------------------------------------

    def waste(self, day_at: int) -> int:
        """People's time on a day beyond what the jobs need."""
        size, duration = self.n.size, self.n.duration
        return sum((len(team.people) - size[j]) * duration[j] for team in self.days[day_at].teams for j in team.jobs)

    def ends(self) -> list[int]:
        """Latest end by class, the last one of all; days are put in order first where that is possible."""
        latest = [0] * 4
        for at in range(len(self.days)):
            self.put_in_order(at)
            for j, start in self.days[at].start.items():
                end = at * DAY + start + self.n.duration[j]
                latest[self.n.klass[j]] = max(latest[self.n.klass[j]], end)
                latest[3] = max(latest[3], end)
        return latest

    def plan(self) -> Plan:
        """The plan in the instance's own numbers."""
        visits = []
        for at, day in enumerate(self.days):
            for team in day.teams:
                people = frozenset(i + 1 for i in team.people)
                visits += [Visit(j + 1, at + 1, day.start[j], people) for j in team.jobs]
        return Plan(tuple(visits), frozenset(j + 1 for j in self.given))

    def save(self) -> Saved:
        """The board as it is."""
        return Saved([d.copy() for d in self.days], list(self.day_of), set(self.bank), set(self.given), self.spent)

    def load(self, saved: Saved) -> None:
        """Back to a saved board (deadlines stay)."""
        self.days = [d.copy() for d in saved.days]
        self.day_of, self.bank, self.given, self.spent = list(saved.day_of), set(saved.bank), set(saved.given), saved.spent
