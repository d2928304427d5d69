"""One visit of one mode of an order that was left out, with the starts that each test leaves to the next.

A start is a column of the horizon. Starts of a day at which the same people have the time are one group (hours.py): what only
people decide is asked once for each group, for the first of its starts.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.view import Stay
from scheduling.fortnight.explain.hours import Group, Hours
from scheduling.fortnight.explain.surroundings import Surroundings
from scheduling.fortnight.explain.words import Clock
from scheduling.fortnight.plan import Job, Visit
from scheduling.fortnight.problem import Mode, Order, Problem
from scheduling.fortnight.room import Room, named_for

Columns = NDArray[np.int64]


@dataclass(frozen=True)
class Case:
    """What is asked."""

    around: Surroundings
    order: Order
    mode: Mode
    job: Job

    @property
    def problem(self) -> Problem:
        """The problem of the plan."""
        return self.around.problem

    @property
    def empty(self) -> Room:
        """The room without a plan."""
        return self.around.empty

    @property
    def room(self) -> Room:
        """The room beside the plan."""
        return self.around.room

    @property
    def clock(self) -> Clock:
        """Local times."""
        return self.around.clock

    @cached_property
    def named(self) -> tuple[str, ...]:
        """People who must be in the visit's team."""
        return named_for(self.order, self.job.visit)

    # --- days and starts ----------------------------------------------------------------------------------------

    @cached_property
    def days_to_climb(self) -> list[int]:
        """Allowed days on which the turbine may be climbed."""
        return [day for day in sorted(self.order.days) if self.room.can_climb(self.order, day)]

    @cached_property
    def days(self) -> list[int]:
        """The same, where equipment is there and pins allow."""
        return self.room.days_open(self.order, self.job)

    @cached_property
    def stays(self) -> dict[int, Stay]:
        """Day -> the stay; days with the same way up share it."""
        access, view = self.room.view.turbines[self.order.turbine].access, self.room.view
        found = {access[day]: view.stay(self.order.turbine, day, [self.job]) for day in self.days}
        return {day: found[access[day]] for day in self.days}

    def chances(self, windows: tuple[str, ...]) -> NDArray[np.float64]:
        """float [columns]: chance of the stay that starts there, on the visit's days."""
        found = np.zeros(len(self.around.days))
        for slots, columns in self._by_length(np.arange(len(found))):
            found[columns] = self.around.chances.of(windows, slots)[columns]
        return found

    @cached_property
    def chance(self) -> NDArray[np.float64]:
        """The same for the order's own windows."""
        return self.chances((self.order.window, *self.order.also))

    @cached_property
    def starts(self) -> Columns:
        """Starts with enough chance (the pinned one only, if pinned)."""
        found = np.flatnonzero(self.chance >= self.problem.rules.confidence)
        pinned = {slot for number, _, slot in self.order.pins if number == self.job.visit}
        return np.array([c for c in found.tolist() if self.slot(c) in pinned], np.int64) if pinned else found

    @cached_property
    def days_to_start(self) -> list[int]:
        """Days with such a start."""
        return sorted({int(day) for day in self.around.days[self.starts]})

    def _by_length(self, columns: Columns) -> list[tuple[int, Columns]]:
        """The columns that lie on the visit's days, by the slots of the stay that day."""
        slots = np.zeros(len(self.problem.days), np.int64)
        for day, stay in self.stays.items():
            slots[day] = stay.slots
        of_column = slots[self.around.days[columns]]
        return [(length, columns[of_column == length]) for length in {stay.slots for stay in self.stays.values()}]

    def slot(self, column: int) -> int:
        """The slot of its day."""
        return int(column) - self.problem.days[int(self.around.days[column])].first_slot

    def draft(self, column: int) -> Visit:
        """The visit that starts there, without people."""
        day = int(self.around.days[column])
        stay, chance = self.stays[day], float(self.chance[column])
        return Visit(self.order.turbine, day, self.slot(column), stay.slots, -1, (self.job,), (), "", chance, stay.by)

    # --- people -------------------------------------------------------------------------------------------------

    def _groups(self, hours: Hours, columns: Columns) -> Columns:
        """The group of each of these starts."""
        found, hop_min = np.zeros(len(self.around.days), np.int64), self.room.view.hop_min(None, self.order.turbine)
        for slots, own in self._by_length(columns):
            found[own] = hours.at(hop_min, slots)[own]
        return found[columns]

    def _alike(self, groups: Columns) -> Columns:
        """One number for all starts of which people need to be asked once only."""
        return np.arange(len(groups)) if self.named else groups

    def _grouped(self, hours: Hours, columns: Columns) -> list[tuple[int, Group]]:
        """(first start, group) of each group; every start by itself where people are named."""
        groups = self._groups(hours, columns)
        firsts = np.sort(np.unique(self._alike(groups), return_index=True)[1])
        return [(int(columns[i]), hours.groups[groups[i]]) for i in firsts]

    @cached_property
    def staff(self) -> list[tuple[int, Group]]:
        """First start and group of the fit people who are on shift for the whole time away, were there no other work."""
        return self._grouped(self.around.hours, self.starts)

    @cached_property
    def staff_beside(self) -> list[tuple[int, Group]]:
        """The same of those who are in no team of the plan that day, on the starts that are free."""
        return self._grouped(self.around.hours_beside, self.placed)

    @cached_property
    def crewed_alone(self) -> Columns:
        """Starts at which some team could do it, were there no other work."""
        groups = self._groups(self.around.hours, self.starts)
        _, firsts, asked = np.unique(self._alike(groups), return_index=True, return_inverse=True)
        able = [self._has_team(self.empty, int(groups[i]), int(self.starts[i])) for i in firsts]
        found: Columns = self.starts[np.array(able, np.bool_)[asked]]
        return found

    def _has_team(self, room: Room, group: int, column: int) -> bool:
        """Whether some team of the group's people could do it; its start and length are in the group, unless people are named."""
        by = self.stays[int(self.around.days[column])].by
        key = (room is self.empty, group, by)
        if self.named or key not in self._crews:
            self._crews[key] = room.with_new_team(self.order, self.mode, self.draft(column)) is not None
        return self._crews[key]

    @cached_property
    def _crews(self) -> dict[Hashable, bool]:
        """Answers of `_has_team` for all who ask for the same people."""
        return self.around.crews.setdefault((self.order.needs, self.mode.team, self.named), {})

    # --- beside the plan ----------------------------------------------------------------------------------------

    def free(self, columns: Columns) -> Columns:
        """Of these, the starts at which turbine, equipment and site are free beside the plan."""
        free = np.zeros(len(self.around.days), bool)
        for slots, own in self._by_length(columns):
            free[own] = self.around.is_place_free(self.order, slots)[own]
        found = columns[free[columns]]
        if not self.order.after or self.job.visit > 0:
            return found
        return np.array([c for c in found if self.room.is_after_others(self.order, self.draft(c))], np.int64)

    @cached_property
    def placed(self) -> Columns:
        """The free ones of `crewed_alone`."""
        return self.free(self.crewed_alone)

    def crewed(self, columns: Columns) -> Iterator[Visit]:
        """Visits at these free starts by all rules, the first start first; a team that is out already before a new one."""
        gaps, groups = self._gaps(columns), self._groups(self.around.hours_beside, columns)
        for group, column in zip(groups.tolist(), columns.tolist(), strict=True):
            day, slot = int(self.around.days[column]), self.slot(column)
            if any(first <= slot <= last for first, last in gaps.get(day, ())) or self._has_team(self.room, group, column):
                found = self.room.crewed(self.order, self.mode, self.draft(column))
                if found is not None:
                    yield found

    def _gaps(self, columns: Columns) -> dict[int, list[tuple[int, int]]]:
        """Day -> first and last start of gaps of teams that have the people."""
        found: dict[int, list[tuple[int, int]]] = {}
        days = set(self.around.days[columns].tolist())
        for slots in {self.stays[day].slots for day in days}:
            for first, last, mate in self.around.gaps.for_stay(self.order, slots):
                if mate.day in days and self.stays[mate.day].slots == slots:
                    teams = self.room.able_teams(self.order, self.mode, mate.day, self.job.visit)
                    if any(team.people == mate.people for team in teams):
                        found.setdefault(mate.day, []).append((first, last))
        return found

    def orders_out(self, day: int, people: set[str] | None = None) -> list[str]:
        """Orders worked on that day (by any of `people`), each once."""
        visits = [v for v in self.room.days[day] if people is None or people & set(v.people)]
        return list(dict.fromkeys(job.order for visit in visits for job in visit.jobs))
