"""Where an order fits best on a board: beside a team's other stops, with a new team, with one more person, or riding along.

Everything is found day by day and kept until the day changes, then joined over the days of an order with several visits.
"""

from __future__ import annotations

import random
from typing import NamedTuple

from scheduling.fortnight.board import Board, Stop, Team
from scheduling.fortnight.columns import JobKey, Kind
from scheduling.fortnight.crews import Crews
from scheduling.fortnight.use import DayUse, blocked

NEVER = float("inf")


class Start(NamedTuple):
    """A start that nothing blocks: extra cents of choosing it, slot, chance, and the visit's own cents."""

    extra: float
    slot: int
    chance: float
    cents: float


class Option(NamedTuple):
    """One change of a day: `old` becomes `new` at an extra cost of `cents`."""

    cents: float
    day: int
    old: Team | None
    new: Team


class Inserter:
    """Finds options on a board. `noise` above 0 makes the choice of people less predictable."""

    def __init__(self, board: Board, rng: random.Random) -> None:
        self.board, self.rng = board, rng
        self.crews = Crews(board)
        self._use: list[tuple[int, DayUse] | None] = [None] * board.facts.days
        self._known: dict[tuple[tuple[JobKey, ...], int], tuple[int, Option | None]] = {}

    def use(self, day: int) -> DayUse:
        """Turbines, equipment and sites in use on a day."""
        held = self._use[day]
        if held is None or held[0] != self.board.version[day]:
            held = (self.board.version[day], DayUse(self.board.facts, [s for t in self.board.teams[day] for s in t.stops]))
            self._use[day] = held
        return held[1]

    def best(self, job: JobKey, day: int) -> Option | None:
        """Cheapest way to do one job on a day."""
        key = ((job,), day)
        known = self._known.get(key)
        if known is None or known[0] != self.board.version[day]:
            known = (self.board.version[day], self._search(job, day))
            self._known[key] = known
        return known[1]

    def _search(self, job: JobKey, day: int) -> Option | None:
        found = self._ride_along(job, day, None)
        kind = self.board.kinds.get((job,))
        field = kind.fields.get(day)
        if field is None:
            return found
        use = self.use(day)
        shut = blocked(self.board.facts, use, kind)
        extra = use.equipment_cents(self.board.facts, kind, day)
        stay = (1 << field.slots) - 1
        starts = [Start(c + extra, s, ch, c) for c, s, ch in field.by_cost if not shut >> s & stay]
        if not starts:
            return found
        for team in self.board.teams[day]:
            found = self._beside(kind, day, team, starts, found)
        return self._new_team(kind, day, starts, found)

    # --- beside the other stops of a team ---------------------------------------------------------------------------

    def _beside(
        self, kind: Kind, day: int, team: Team, starts: list[Start], found: Option | None
    ) -> Option | None:
        b = self.board
        if len(team.stops) >= b.facts.problem.rules.climbs_a_day:
            return found
        masks = [team.mask] if b.suits(day, team.mask, kind) else self.crews.one_more(day, team, kind)
        for mask in masks:
            for place in range(len(team.stops) + 1):
                found = self._in_gap(kind, day, team, mask, place, starts, found)
        return found

    def _in_gap(
        self,
        kind: Kind,
        day: int,
        team: Team,
        mask: int,
        place: int,
        starts: list[Start],
        found: Option | None,
    ) -> Option | None:
        b, f, field = self.board, self.board.facts, kind.fields[day]
        low, high = 0, f.slots[day]
        if place:
            before = team.stops[place - 1]
            low = before.end + f.hop_slots[before.kind.turbine][kind.turbine]
        if place < len(team.stops):
            after = team.stops[place]
            high = after.start - f.hop_slots[kind.turbine][after.kind.turbine]
        high -= field.slots
        tries = 0
        for extra, start, chance, cents in starts:
            if not low <= start <= high:
                continue
            stop = Stop(kind, field, start, start + field.slots, cents, chance)
            new = b.make(day, mask, (*team.stops[:place], stop, *team.stops[place:]))
            delta = extra + new.cents - team.cents
            if (found is None or delta < found.cents) and b.timely(day, new, team):
                found = Option(delta, day, team, new)
            tries += 1
            if tries >= 3:
                break
        return found

    # --- a new team ---------------------------------------------------------------------------------------------------

    def _new_team(self, kind: Kind, day: int, starts: list[Start], found: Option | None) -> Option | None:
        b, field = self.board, kind.fields[day]
        if not b.vehicles_for(day, None, kind.team):
            return found
        for extra, start, chance, cents in starts[:6]:
            if found is not None and extra >= found.cents:
                break
            stop = Stop(kind, field, start, start + field.slots, cents, chance)
            for mask in self.crews.free(day, kind):
                new = b.make(day, mask, (stop,))
                if found is not None and extra + new.cents >= found.cents:
                    break
                if b.timely(day, new) and b.pairs_kept(day, None, mask):
                    found = Option(extra + new.cents, day, None, new)
                    break
        return found

    # --- riding along -------------------------------------------------------------------------------------------------

    def _ride_along(self, job: JobKey, day: int, found: Option | None) -> Option | None:
        b = self.board
        mates = b.kinds.mates[job[0]]
        if not mates:
            return found
        for team in b.teams[day]:
            for place, stop in enumerate(team.stops):
                orders = [o for o, _, _ in stop.kind.jobs]
                if all(o in mates for o in orders):
                    found = self._join(job, day, team, place, found)
        return found

    def _join(self, job: JobKey, day: int, team: Team, place: int, found: Option | None) -> Option | None:
        b, old = self.board, team.stops[place]
        kind = b.kinds.get((*old.kind.jobs, job))
        field = kind.fields.get(day)
        if field is None:
            return found
        use = DayUse(b.facts, [s for t in b.teams[day] for s in t.stops if s is not old])
        shut, stay = blocked(b.facts, use, kind), (1 << field.slots) - 1
        extra = use.equipment_cents(b.facts, kind, day) - use.equipment_cents(b.facts, old.kind, day)
        starts = [Start(c + extra - old.cents, s, ch, c) for c, s, ch in field.by_cost if not shut >> s & stay]
        if not b.suits(day, team.mask, kind):
            return found
        rest = Team(team.mask, (*team.stops[:place], *team.stops[place + 1 :]), team.cents, team.leaves_min, team.returns_min)
        return self._swap_in(kind, day, team, rest, place, starts, found)

    def _swap_in(
        self,
        kind: Kind,
        day: int,
        team: Team,
        rest: Team,
        place: int,
        starts: list[Start],
        found: Option | None,
    ) -> Option | None:
        option = self._in_gap(kind, day, rest, rest.mask, place, starts, found)
        if option is None or option is found:
            return found
        return Option(option.cents, day, team, option.new)
