"""A plan in the making: teams of real people day by day, changed in place by the search and always within the rules.

The board answers two questions about a team (a mask of people and its stops of one day): may it be so (`allows`), and what
does it cost (`team_cents`). It holds what crosses teams and days: who is busy, minutes per week, turbines in use.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from scheduling.fortnight.columns import Field, Kind, Kinds
from scheduling.fortnight.cover import Cover
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.teaming import meets
from scheduling.fortnight.waits import Waits

Ends = tuple[int, int]
"""Where a team sets out from and where it sleeps: 0 the base, from 1 on the problem's lodgings."""
BASE: Ends = (0, 0)


class Stop(NamedTuple):
    """A visit on the board: slots [start, end), cents of the visit itself, chance."""

    kind: Kind
    field: Field
    start: int
    end: int
    cents: float
    chance: float


class Team(NamedTuple):
    """People (mask) and their stops of one day in order of time; `cents` is team_cents without the stops' own cents."""

    mask: int
    stops: tuple[Stop, ...]
    cents: float
    leaves_min: int
    returns_min: int
    ends: Ends = BASE


class Board:
    """Teams by day. Use `replace` to change a day; everything else follows."""

    def __init__(self, facts: Facts, kinds: Kinds) -> None:
        self.facts, self.kinds = facts, kinds
        self.teams: list[list[Team]] = [[] for _ in range(facts.days)]
        self.busy = [0] * facts.days
        self.version = [0] * facts.days
        self.stamp = 0
        people = len(facts.problem.people)
        self.week = [day.week for day in facts.problem.days]
        self.left_min = [{w: facts.week_left(p, w) for w in dict.fromkeys(self.week)} for p in range(people)]
        self.away: list[dict[int, tuple[int, int]]] = [{} for _ in range(people)]
        self.where: dict[int, list[tuple[int, Stop]]] = {}
        self.waits = Waits(self)
        self.cover = Cover(facts)
        self._suits: dict[tuple[int, int, tuple[tuple[str, int, int], ...], int], bool] = {}
        self._seats = sorted((v.seats for v in facts.problem.vehicles), reverse=True)
        self._envelope: dict[tuple[int, int], tuple[int, int, int]] = {}

    # --- changes ----------------------------------------------------------------------------------------------------

    def add(self, day: int, team: Team) -> None:
        """Put a team on the board."""
        self.teams[day].append(team)
        self.busy[day] |= team.mask
        self._count(day, team, -1)
        for stop in team.stops:
            for order, _, _ in stop.kind.jobs:
                self.where.setdefault(order, []).append((day, stop))

    def remove(self, day: int, team: Team) -> None:
        """Take a team off the board."""
        self.teams[day].remove(team)
        self.busy[day] &= ~team.mask
        self._count(day, team, +1)
        for stop in team.stops:
            for order, _, _ in stop.kind.jobs:
                self.where[order].remove((day, stop))
                if not self.where[order]:
                    del self.where[order]

    def replace(self, day: int, old: Team | None, new: Team | None) -> None:
        """Change one team of a day."""
        if old is not None:
            self.remove(day, old)
        if new is not None:
            self.add(day, new)

    def _count(self, day: int, team: Team, sign: int) -> None:
        self.stamp += 1
        self.version[day] = self.stamp
        if self.waits.linked:
            for other in self.waits.days_touched(team):
                self.version[other] = self.stamp
        minutes = sign * (team.returns_min - team.leaves_min)
        for person in self.facts.members_of(team.mask):
            self.left_min[person][self.week[day]] += minutes
            if sign < 0:
                self.away[person][day] = (team.leaves_min, team.returns_min)
            else:
                del self.away[person][day]

    # --- one team -----------------------------------------------------------------------------------------------------

    def make(self, day: int, mask: int, stops: tuple[Stop, ...], ends: Ends = BASE) -> Team:
        """The team with its cost and the minutes (of the day's grid) it leaves and returns."""
        f, p = self.facts, self.facts.problem
        first, last = stops[0], stops[-1]
        out, back = f.home_min[ends[0]][first.kind.turbine], f.home_min[ends[1]][last.kind.turbine]
        leaves, returns, minutes = first.start * p.slot_min - out, last.end * p.slot_min + back, out + back
        for i in range(len(stops) - 1):
            minutes += f.hop_min[stops[i].kind.turbine][stops[i + 1].kind.turbine]
        people, w = mask.bit_count(), p.weights
        cents = float(w.team_day + w.travel_per_person_min * minutes * people) + f.company.hire_cents(mask)
        for stop in stops:
            if people > stop.kind.team:
                cents += (1.0 - stop.chance) * f.abort_cents[day] * (people - stop.kind.team)
            if stop.field.told:
                cents += stop.field.missing_cents(stop.start, mask)
        if returns > self.envelope(day, mask)[2] * p.slot_min:
            over = [max(0, returns - max(leaves, f.shift[i][day].regular_end * p.slot_min)) for i in f.members_of(mask)]
            cents += sum(over) * w.overtime_per_person_min
        if ends[1]:
            cents += p.lodgings[ends[1] - 1].night_cost * people
        return Team(mask, stops, cents, leaves, returns, ends)

    def envelope(self, day: int, mask: int) -> tuple[int, int, int]:
        """Latest shift start, earliest shift end, earliest regular end of these people."""
        key = (day, mask)
        if key not in self._envelope:
            shifts = [self.facts.shift[i].get(day) for i in self.facts.members_of(mask)]
            known = [s for s in shifts if s is not None]
            self._envelope[key] = (
                max((s.start for s in known), default=0) if len(known) == len(shifts) else 10**6,
                min((s.end for s in known), default=0),
                min((s.regular_end for s in known), default=0),
            )
        return self._envelope[key]

    def suits(self, day: int, mask: int, kind: Kind) -> bool:
        """Crew, team size, certificates, rescue, skills and seats of these people for this kind."""
        if kind.crew & ~mask:
            return False
        key = (day, mask, kind.needs, kind.team)
        if key not in self._suits:
            self._suits[key] = self._suits_anew(day, mask, kind)
        return self._suits[key]

    def _suits_anew(self, day: int, mask: int, kind: Kind) -> bool:
        f = self.facts
        if mask & ~f.certified[day] or (mask & f.fit[day]).bit_count() < kind.team:
            return False
        if (mask & f.rescue[day]).bit_count() < f.problem.rules.rescue_pair:
            return False
        if mask.bit_count() > (self._seats[0] if self._seats else 0):
            return False
        if any(mask >> a & 1 and mask >> b & 1 for a, b in f.apart):
            return False
        return meets(mask, ((f.holders(skill, level, day), count) for skill, level, count in kind.needs))

    def timely(self, day: int, team: Team, leaving: Team | None = None) -> bool:
        """Hops, climbs, shift, break, hours, rest and waits of a team whose people suit its stops (it replaces `leaving`)."""
        f, p, stops = self.facts, self.facts.problem, team.stops
        free = 0
        for i, stop in enumerate(stops[1:]):
            before = stops[i]
            if before.end + f.hop_slots[before.kind.turbine][stop.kind.turbine] > stop.start:
                return False
            gap = (stop.start - before.end) * p.slot_min - f.hop_min[before.kind.turbine][stop.kind.turbine]
            free = max(free, gap)
        if len(stops) > p.rules.climbs_a_day:
            return False
        if sum(s.field.by == "ladder" for s in stops) > p.rules.ladder_climbs_a_day:
            return False
        start, end, _ = self.envelope(day, team.mask)
        if stops[0].start - f.home_slots[team.ends[0]][stops[0].kind.turbine] < start:
            return False
        if stops[-1].end + f.home_slots[team.ends[1]][stops[-1].kind.turbine] > end:
            return False
        away = team.returns_min - team.leaves_min
        if away > p.rules.break_after_min and free < p.rules.break_min and not any(s.field.has_break for s in stops):
            return False
        if self.waits.linked and not self.waits.kept(day, team, leaving):
            return False
        return all(self._rested(i, day, team, away, leaving) for i in f.members_of(team.mask))

    def _rested(self, person: int, day: int, team: Team, away: int, leaving: Team | None) -> bool:
        """Weekly hours and rest of one person, whose present team of that day is leaving."""
        left = self.left_min[person][self.week[day]]
        if leaving is not None and leaving.mask >> person & 1:
            left += leaving.returns_min - leaving.leaves_min
        if away > left:
            return False
        days, rest = self.facts.problem.days, self.facts.problem.rules.rest_min
        for other, (leaves, returns) in self.away[person].items():
            if abs(other - day) > 2 or other == day:
                continue
            if other < day and days[day].start_min + team.leaves_min - days[other].start_min - returns < rest:
                return False
            if other > day and days[other].start_min + leaves - days[day].start_min - team.returns_min < rest:
                return False
        return True

    # --- one day ------------------------------------------------------------------------------------------------------

    def vehicles_for(self, day: int, leaving: Team | None, joining: int) -> bool:
        """Whether the vehicles seat the day's teams when one team leaves and one of so many people joins (0: none)."""
        sizes = [t.mask.bit_count() for t in self.teams[day] if t is not leaving]
        sizes = sorted([*sizes, joining] if joining else sizes, reverse=True)
        return len(sizes) <= len(self._seats) and all(n <= s for n, s in zip(sizes, self._seats, strict=False))

    def pairs_kept(self, day: int, leaving: Team | None, joining: int) -> bool:
        """Whether people who must be in one team are, when one team leaves and one joins."""
        if not self.facts.together:
            return True
        masks = [t.mask for t in self.teams[day] if t is not leaving] + [joining]
        out = 0
        for mask in masks:
            out |= mask
        both = [(1 << a) | (1 << b) for a, b in self.facts.together]
        return all(out & pair != pair or any(mask & pair == pair for mask in masks) for pair in both)

    def apart_cents(self, day: int, leaving: Team | None, joining: int) -> float:
        """Cents that preferred pairs in different teams cost more when one team leaves and one (mask) joins."""
        company = self.facts.company
        if not company.likes:
            return 0.0
        gone = 0 if leaving is None else leaving.mask
        others = self.busy[day] & ~gone
        return company.pair_cents * (company.split(joining, others) - company.split(gone, others))

    def cents(self) -> float:
        """Cost of everything on the board, without orders left out and without equipment days."""
        total = sum(t.cents + sum(s.cents for s in t.stops) for teams in self.teams for t in teams)
        company = self.facts.company
        if company.likes:
            masks = [[t.mask for t in teams] for teams in self.teams]
            total += sum(company.all_split(some) for some in masks) * company.pair_cents
        if company.hand_over:
            total += sum(self.handed_over(order) for order in company.hand_over)
        return total

    def handed_over(self, order: int) -> float:
        """Cents for visits of the order whose team holds nobody of the visit before."""
        visits = [
            (visit, team.mask & ~self.facts.learners)
            for day, stop in self.where.get(order, ())
            for team in self.teams[day]
            if any(s is stop for s in team.stops)
            for one, _, visit in stop.kind.jobs
            if one == order
        ]
        cents = self.facts.company.hand_over[order]
        return sum(cents for (_, before), (_, now) in pairwise(sorted(visits)) if not before & now)
