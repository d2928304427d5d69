"""Who has the time for one stay alone, at every start of the horizon at once: starts with the same people make one group."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.problem import Need, Person
from scheduling.fortnight.room import Room


class Group:
    """The people of a day, in no other team, who have the time; the same people on the same day are the same group."""

    def __init__(self, day: int, people: list[Person]) -> None:
        self.day, self.people = day, people
        self.rescuers = sum(day in person.rescue_days for person in people)
        self._holders: dict[Need, int] = {}

    def holders(self, need: Need) -> int:
        """How many of them hold the skill."""
        if need not in self._holders:
            self._holders[need] = sum(
                any(h.skill == need.skill and h.level >= need.level and self.day in h.days for h in p.skills) for p in self.people
            )
        return self._holders[need]


class Hours:
    """The groups of one room. A stay is told by its hop from the base (minutes) and its slots."""

    def __init__(self, room: Room, days: NDArray[np.int64]) -> None:
        self.room, self.problem, self.days = room, room.problem, days
        self.groups: list[Group] = []
        self._lists = [room.not_out(day) for day in range(len(self.problem.days))]
        self._most = max(map(len, self._lists), default=0)
        self._numbers: dict[tuple[int, bytes], int] = {}
        self._known: dict[tuple[int, int], NDArray[np.int64]] = {}
        self._spare()

    def _spare(self) -> None:
        """int [people of the day, days] of what is left to each: see room.Spare; who is out or off has no slots left."""
        shape = (max(1, self._most), len(self.problem.days))
        self.start, self.end, self.away = (np.zeros(shape, np.int64) for _ in range(3))
        self.leaves, self.returns = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
        for day, people in enumerate(self._lists):
            for row, person in enumerate(people):
                spare = self.room.spare(person.id, day)
                if spare is not None:
                    self.start[row, day], self.end[row, day], self.away[row, day] = spare.start, spare.end, spare.away_min
                    self.leaves[row, day], self.returns[row, day] = spare.leaves_min, spare.returns_min

    def at(self, hop_min: int, slots: int) -> NDArray[np.int64]:
        """int [columns]: number of the group that has the time for the stay started there."""
        if (hop_min, slots) not in self._known:
            self._known[hop_min, slots] = self._at(hop_min, slots)
        return self._known[hop_min, slots]

    def _at(self, hop_min: int, slots: int) -> NDArray[np.int64]:
        slot_min = self.problem.slot_min
        hop = -(-hop_min // slot_min)
        first = np.maximum(self.start + hop, -(-(self.leaves + hop_min) // slot_min))
        last = np.minimum(self.end - hop, (self.returns - hop_min) // slot_min) - slots
        last[self.away < slots * slot_min + 2 * hop_min] = -1
        starts = np.arange(len(self.days)) - np.array([day.first_slot for day in self.problem.days])[self.days]
        there = (first[:, self.days] <= starts) & (starts <= last[:, self.days])
        packed = np.packbits(there, axis=0)
        begins = (packed[:, 1:] != packed[:, :-1]).any(axis=0) | (self.days[1:] != self.days[:-1])
        begins = np.concatenate(([0], np.flatnonzero(begins) + 1))
        numbers = [self._number(int(self.days[column]), packed[:, column].tobytes(), there[:, column]) for column in begins]
        return np.repeat(numbers, np.diff(np.append(begins, len(self.days))))

    def _number(self, day: int, key: bytes, there: NDArray[np.bool_]) -> int:
        if (day, key) not in self._numbers:
            self._numbers[day, key] = len(self.groups)
            people = [self._lists[day][row] for row in np.flatnonzero(there)]
            self.groups.append(Group(day, people))
        return self._numbers[day, key]
