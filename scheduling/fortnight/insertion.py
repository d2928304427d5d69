"""Where a job fits best on a board: between a team's other stops, with a new team, with one more person, or riding along.

Everything is found day by day and kept until the day changes; orders.py joins the days of an order with several visits.
"""

from __future__ import annotations

from collections.abc import Hashable
from itertools import pairwise
from typing import NamedTuple

from scheduling.fortnight.board import BASE, Board, Ends, Stop, Team
from scheduling.fortnight.columns import JobKey, Kind
from scheduling.fortnight.cover import Reach
from scheduling.fortnight.crews import Crews
from scheduling.fortnight.facts import Floats
from scheduling.fortnight.hanging import Hanging
from scheduling.fortnight.timing import Table, Timing
from scheduling.fortnight.use import DayUse

NOWHERE = float("inf")
ANYBODY = -1
"""Every bit set: a mask of people that asks for nobody."""


class Option(NamedTuple):
    """One change of a day: `old` becomes `new` at an extra cost of `cents`."""

    cents: float
    day: int
    old: Team | None
    new: Team


class Place(NamedTuple):
    """A place worth trying: extra cents, the team, its people then, its kinds then, whether a break must be in it."""

    cents: float
    team: Team | None
    mask: int
    kinds: tuple[Kind, ...]
    rested: bool
    use: DayUse
    ends: Ends = BASE


class Inserter:
    """Finds options on a board."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.crews = Crews(board)
        self.timing = Timing(board)
        self.hanging = Hanging(board)
        days = board.facts.days
        self._seen = [-1] * days
        self._tables: list[dict[tuple[int, tuple[JobKey, ...]], Table]] = [{} for _ in range(days)]
        self._new: list[dict[tuple[int, Ends], Table]] = [{} for _ in range(days)]
        self._uses: list[dict[int, DayUse]] = [{} for _ in range(days)]
        self._known: dict[tuple[JobKey, int], tuple[Hashable, Option | None]] = {}

    def best(self, job: JobKey, day: int) -> Option | None:
        """Cheapest way to do one job on a day."""
        known, now = self._known.get((job, day)), self._as_of(job, day)
        if known is None or known[0] != now:
            known = (now, self._search(job, day))
            self._known[job, day] = known
        return known[1]

    def _as_of(self, job: JobKey, day: int) -> Hashable:
        """What an option depends on: the day, and for an order that waits for others where those stand."""
        waits, version = self.board.waits, self.hanging.as_of(day)
        return (version, *waits.open((job,), day)) if job[0] in waits.linked else version

    def best_with(self, job: JobKey, day: int, some: int) -> Option | None:
        """Cheapest way to do one job on a day with at least one of these people (mask) in the team."""
        return self._search(job, day, some)

    def _search(self, job: JobKey, day: int, some: int = ANYBODY) -> Option | None:
        self._refresh(day)
        places: list[Place] = []
        for team in self.board.teams[day]:
            self._ride_along(job, day, team, places)
        return self._cheapest(self.board.kinds.get((job,)), day, places, some)

    def best_kind(self, kind: Kind, day: int) -> Option | None:
        """Cheapest way to visit a kind on a day, with no other order riding along."""
        self._refresh(day)
        return self._cheapest(kind, day, [])

    def _refresh(self, day: int) -> None:
        """Forget tables of a day that has changed."""
        if self._seen[day] != self.board.version[day]:
            self._seen[day] = self.board.version[day]
            self._tables[day], self._new[day], self._uses[day] = {}, {}, {}

    def _cheapest(self, kind: Kind, day: int, places: list[Place], some: int = ANYBODY) -> Option | None:
        if day in kind.fields:
            for team in self.board.teams[day]:
                self._beside(kind, day, team, places)
            self._new_team(kind, day, places, some)
        if some != ANYBODY:
            places = [place for place in places if place.mask & some]
        places.sort(key=lambda place: place.cents)
        for place in places[:4]:
            option = self._option(day, place)
            if option is not None:
                return option
        return None

    def _option(self, day: int, place: Place) -> Option | None:
        """The place with its times, if rest, weekly hours and pairs allow it too."""
        stops = self.timing.times(day, place.mask, place.kinds, place.use, place.rested, place.ends)
        if stops is None:
            return None
        new, b = self.board.make(day, place.mask, stops, place.ends), self.board
        if not b.timely(day, new, place.team) or not b.pairs_kept(day, place.team, new.mask):
            return None
        old_cents = 0.0 if place.team is None else place.team.cents + sum(s.cents for s in place.team.stops)
        rates = self._rates(day, place) + b.apart_cents(day, place.team, new.mask)
        return Option(new.cents + sum(s.cents for s in stops) - old_cents + rates, day, place.team, new)

    def _rates(self, day: int, place: Place) -> float:
        """Day rates of equipment that nobody used on that day."""
        items = {e for kind in place.kinds for e in kind.equipment} - set(place.use.users)
        had = {e for s in place.team.stops for e in s.kind.equipment} if place.team else set()
        return float(sum(self.board.facts.problem.equipment[e].day_cost for e in items - had))

    # --- places -----------------------------------------------------------------------------------------------------

    def _use(self, day: int, team: Team | None) -> DayUse:
        """What all others hold that day."""
        key = team.mask if team is not None else 0
        if key not in self._uses[day]:
            others = [t for t in self.board.teams[day] if t is not team]
            reach = Reach(self.board.cover, day, others) if self.board.cover.asked else None
            self._uses[day][key] = DayUse(self.board.facts, [s for t in others for s in t.stops], reach)
        return self._uses[day][key]

    def _table(self, day: int, team: Team, mask: int) -> Table:
        kinds = tuple(s.kind for s in team.stops)
        key = (mask, tuple(job for kind in kinds for job in kind.jobs))
        if key not in self._tables[day]:
            self._tables[day][key] = self.timing.table(day, mask, kinds, self._use(day, team), team.ends)
        return self._tables[day][key]

    def _beside(self, kind: Kind, day: int, team: Team, places: list[Place]) -> None:
        b, rules = self.board, self.board.facts.problem.rules
        if len(team.stops) >= rules.climbs_a_day:
            return
        ladders = sum(s.field.by == "ladder" for s in team.stops) + (kind.fields[day].by == "ladder")
        if ladders > rules.ladder_climbs_a_day:
            return
        masks = [team.mask] if b.suits(day, team.mask, kind) else []
        if not masks and team.ends == BASE:
            masks = self.crews.one_more(day, team, kind)
        for mask in masks:
            table = self._table(day, team, mask)
            own = self.timing.starts(day, kind, mask, table.use)
            for i in range(len(team.stops) + 1):
                self._at(kind, day, team, table, i, i, own, places)

    def _ride_along(self, job: JobKey, day: int, team: Team, places: list[Place]) -> None:
        b = self.board
        mates = b.kinds.mates[job[0]]
        for i, stop in enumerate(team.stops):
            if stop.kind.turbine == b.facts.own[job[0]] and all(o in mates for o, _, _ in stop.kind.jobs):
                kind = b.kinds.get((*stop.kind.jobs, job))
                if day in kind.fields and b.suits(day, team.mask, kind):
                    table = self._table(day, team, team.mask)
                    own = self.timing.starts(day, kind, team.mask, table.use)
                    self._at(kind, day, team, table, i, i + 1, own, places)

    def _at(self, kind: Kind, day: int, team: Team, table: Table, i: int, j: int, own: Floats, places: list[Place]) -> None:
        kinds = (*table.kinds[:i], kind, *table.kinds[j:])
        rested = self._span_min(day, kinds, team.ends) > self.board.facts.problem.rules.break_after_min
        cents = self.timing.between(table, i, j, kind, own, rested)
        if cents < NOWHERE:
            fixed = self._fixed(table.mask, kinds, team.ends) - team.cents - sum(s.cents for s in team.stops)
            if table.mask != team.mask:
                fixed += self.board.apart_cents(day, team, table.mask)
            places.append(Place(cents + fixed, team, table.mask, kinds, rested, table.use, team.ends))
            if not rested and len(kinds) > 1:
                places.append(Place(cents + fixed + 1.0, team, table.mask, kinds, True, table.use, team.ends))

    def _fixed(self, mask: int, kinds: tuple[Kind, ...], ends: Ends) -> float:
        """Cents of a team that do not depend on times: the team, people hired for the day, its travel, its night away."""
        f = self.board.facts
        minutes = f.home_min[ends[0]][kinds[0].turbine] + f.home_min[ends[1]][kinds[-1].turbine]
        for a, b in pairwise(kinds):
            minutes += f.hop_min[a.turbine][b.turbine]
        travel = f.problem.weights.travel_per_person_min * minutes * mask.bit_count()
        night = f.problem.lodgings[ends[1] - 1].night_cost * mask.bit_count() if ends[1] else 0
        return float(f.problem.weights.team_day + travel + night) + f.company.hire_cents(mask)

    def _span_min(self, day: int, kinds: tuple[Kind, ...], ends: Ends) -> int:
        """Least minutes away of a sequence."""
        f = self.board.facts
        slots = sum(k.fields[day].slots for k in kinds) * f.problem.slot_min
        return slots + f.home_min[ends[0]][kinds[0].turbine] + f.home_min[ends[1]][kinds[-1].turbine]

    def _new_team(self, kind: Kind, day: int, places: list[Place], some: int) -> None:
        b = self.board
        if not b.vehicles_for(day, None, kind.team):
            return
        use = self._use(day, None)
        waiting = [(m, ends) for m, ends in self.hanging.on(day) if m & some and b.suits(day, m, kind)]
        for mask, ends in [*waiting, *((mask, BASE) for mask in self.crews.free(day, kind, some))]:
            if mask.bit_count() > kind.team and not b.vehicles_for(day, None, mask.bit_count()):
                continue
            own = self.timing.starts(day, kind, mask, use)
            cents = self.timing.between(self._empty(day, mask, use, ends), 0, 0, kind, own, False)
            if cents < NOWHERE:
                has_break = kind.fields[day].has_break
                fixed = self._fixed(mask, (kind,), ends) + b.apart_cents(day, None, mask)
                places.append(Place(cents + fixed, None, mask, (kind,), has_break, use, ends))

    def _empty(self, day: int, mask: int, use: DayUse, ends: Ends) -> Table:
        """The table of people who are not out yet."""
        key = (mask, ends)
        if key not in self._new[day]:
            self._new[day][key] = self.timing.table(day, mask, (), use, ends)
        return self._new[day][key]


__all__ = ["Inserter", "Option", "Stop"]
