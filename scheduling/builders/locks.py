"""What planners hold fast, as a fortnight's problem counts it: pins, people named for visits, days an order may not be on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from datetime import date

from planner.errors import PlannerError
from planner.models import Base
from scheduling.builders.horizon import Horizon
from scheduling.builders.published import Told
from scheduling.choices import LockKind
from scheduling.fortnight.problem import PublishedVisit
from scheduling.models import FrozenDay, Lock

Pin = tuple[int, int, int]
Crew = tuple[int, tuple[str, ...]]


@dataclass
class Held:
    """Locks by order number. `frozen` has the reason of each frozen day index, `stands` the orders on it that stay."""

    pins: dict[str, list[Pin]] = field(default_factory=lambda: defaultdict(list))
    crew: dict[str, list[Crew]] = field(default_factory=lambda: defaultdict(list))
    forbidden: dict[str, dict[int, str]] = field(default_factory=lambda: defaultdict(dict))
    frozen: dict[int, str] = field(default_factory=dict)
    stands: set[tuple[str, int]] = field(default_factory=set)

    def why_not_on(self, number: str, day: int) -> str:
        """Why a lock keeps an order off a day, in a sentence; empty if none does."""
        if day in self.frozen and (number, day) not in self.stands:
            return f"the day is frozen{self.frozen[day]}: nothing is added to it"
        return self.forbidden.get(number, {}).get(day, "")

    def pins_of(self, number: str) -> tuple[Pin, ...]:
        """(visit, day, slot) of the order's pinned visits, each once."""
        return tuple(sorted(set(self.pins.get(number, ()))))

    def crew_of(self, number: str) -> tuple[Crew, ...]:
        """(visit, people) of the order's visits whose people are named, each visit once."""
        people: dict[int, dict[str, None]] = {}
        for visit, names in self.crew.get(number, ()):
            people.setdefault(visit, {}).update(dict.fromkeys(names))
        return tuple((visit, tuple(names)) for visit, names in sorted(people.items()))


def held_of(base: Base, horizon: Horizon, told: Told, people: Collection[str]) -> Held:
    """The locks of a base that matter in the horizon. `people`: names of those who may go at all.

    Pins that lie before the horizon are over. Raises PlannerError for somebody who is pinned but no active technician any more,
    and for a pinned start outside the working day.
    """
    held = Held()
    for lock in _open_locks(base, horizon):
        number = lock.number - told.first.get(lock.order.number, 0)
        if lock.kind == LockKind.DAY:
            held.forbidden[lock.order.number] |= dict.fromkeys(_days(lock, horizon), f"not on this day{because(lock.reason)}")
        elif number >= 0 and lock.kind == LockKind.TEAM:
            names = tuple(person.name for person in lock.people.all())
            _refuse_strangers(names, people, f"{lock.order.number} has them pinned to its visit {lock.number + 1}")
            held.crew[lock.order.number].append((number, names))
        elif number >= 0:
            held.pins[lock.order.number].append((number, *_place(lock, horizon)))
    for frozen in FrozenDay.objects.filter(base=base, released_at=None):
        day = horizon.index_of(frozen.day)
        if 0 <= day < horizon.days:
            held.frozen[day] = because(frozen.reason)
    for visit in told.visits:
        if visit.day in held.frozen:
            _freeze(held, visit, horizon, people)
    return held


def because(reason: str) -> str:
    """A reason in brackets, where there is one."""
    return f" ({reason})" if reason else ""


def _open_locks(base: Base, horizon: Horizon) -> Iterator[Lock]:
    locks = Lock.objects.filter(base=base, released_at=None).select_related("order").prefetch_related("people")
    last = horizon.date_of(horizon.days - 1)
    for lock in locks.order_by("made_at", "pk"):
        if lock.first_day is None or lock.last_day is None or (lock.last_day >= horizon.first_day and lock.first_day <= last):
            yield lock


def _days(lock: Lock, horizon: Horizon) -> list[int]:
    first, last = horizon.index_of(lock.first_day or date.min), horizon.index_of(lock.last_day or date.max)
    return [day for day in range(horizon.days) if first <= day <= last]


def _place(lock: Lock, horizon: Horizon) -> tuple[int, int]:
    assert lock.first_day is not None  # by the table's constraints
    assert lock.starts_at is not None
    day = horizon.index_of(lock.first_day)
    slot = horizon.slot_of(lock.starts_at, day)
    if not 0 <= slot < horizon.slots_a_day:
        raise PlannerError(
            f"Visit {lock.number + 1} of {lock.order.number} is pinned to a start outside the shifts of {lock.first_day}: "
            "release that lock, or change the shifts.",
            field="base",
        )
    return day, slot


def _freeze(held: Held, visit: PublishedVisit, horizon: Horizon, people: Collection[str]) -> None:
    where = f"the frozen {horizon.date_of(visit.day)} has them on {visit.order}"
    _refuse_strangers(visit.people, people, where)
    held.stands.add((visit.order, visit.day))
    held.pins[visit.order].append((visit.visit, visit.day, visit.start))
    held.crew[visit.order].append((visit.visit, visit.people))


def _refuse_strangers(names: Collection[str], people: Collection[str], where: str) -> None:
    gone = [name for name in names if name not in people]
    if gone:
        raise PlannerError(f"{', '.join(gone)}: no active technician any more, but {where}. Release that lock.", field="base")
