"""The plans of all parts of a fleet checked as one: nobody and nothing may be used twice.

Each part was checked by its own rules; this looks only at what lies between parts. It knows rows, not problems, and shares no
code with the solver or the grouping.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime


@dataclass(frozen=True)
class Stay:
    """One team at one turbine. Times are instants (with zone), `day` the local day; equipment by name, once each."""

    base: str
    turbine: str
    day: date
    starts_at: datetime
    ends_at: datetime
    people: tuple[str, ...]
    vehicle: str = ""
    equipment: tuple[str, ...] = ()


@dataclass(frozen=True)
class PartNeed:
    """Parts that one order takes on the first day of its work."""

    base: str
    part: str
    day: date
    quantity: int


@dataclass(frozen=True)
class Stock:
    """Parts in stock, and those expected on a day."""

    in_stock: int
    coming: tuple[tuple[date, int], ...] = ()

    def by(self, day: date) -> int:
        """How many there are by a day, nothing used."""
        return self.in_stock + sum(count for when, count in self.coming if when <= day)


@dataclass(frozen=True)
class Joined:
    """What plans of more than one base use (by name), and what they use twice, each in a sentence."""

    shared: tuple[str, ...] = ()
    clashes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plans:
    """What the parts planned, and how much there is: capacity by equipment name, stock by part name."""

    stays: Sequence[Stay] = ()
    needs: Sequence[PartNeed] = ()
    capacity: Mapping[str, int] = field(default_factory=dict)
    stock: Mapping[str, Stock] = field(default_factory=dict)


def joined(plans: Plans) -> Joined:
    """Check the plans of all parts together.

    A person or a vehicle: with one base a day. A piece of equipment: at no moment at more turbines than its capacity; a stay
    that ends when another begins is no overlap. A part: by no day more taken than stock and deliveries until then. Only what
    lies between bases is told; what one base does alone its own check tells.
    """
    users = _users(plans)
    clashes = [*_people_and_vehicles(plans.stays), *_equipment(plans), *_parts(plans)]
    return Joined(tuple(sorted(thing for thing, bases in users.items() if len(bases) > 1)), tuple(clashes))


def _users(plans: Plans) -> dict[str, set[str]]:
    users: dict[str, set[str]] = defaultdict(set)
    for stay in plans.stays:
        for thing in (*stay.people, *filter(None, (stay.vehicle,)), *stay.equipment):
            users[thing].add(stay.base)
    for need in plans.needs:
        users[need.part].add(need.base)
    return users


def _people_and_vehicles(stays: Iterable[Stay]) -> Iterator[str]:
    days: dict[tuple[date, str], set[str]] = defaultdict(set)
    for stay in stays:
        for thing in (*stay.people, *filter(None, (stay.vehicle,))):
            days[stay.day, thing].add(stay.base)
    for (day, thing), bases in sorted(days.items()):
        if len(bases) > 1:
            yield f"{thing} is planned twice on {day}: by {_and(bases)}."


def _equipment(plans: Plans) -> Iterator[str]:
    using: dict[str, list[Stay]] = defaultdict(list)
    for stay in plans.stays:
        for piece in set(stay.equipment):
            using[piece].append(stay)
    for piece, stays in sorted(using.items()):
        yield from _too_many(piece, plans.capacity.get(piece, 1), sorted(stays, key=lambda one: (one.starts_at, one.turbine)))


def _too_many(piece: str, capacity: int, stays: list[Stay]) -> Iterator[str]:
    """The stays at whose beginning more are under way than the piece can serve, where another base has a share in it."""
    for stay in stays:
        at = [one for one in stays if one.starts_at <= stay.starts_at < one.ends_at]
        bases = {one.base for one in at}
        if len(at) > capacity and len(bases) > 1:
            when = f"{stay.day}, from the start at {stay.turbine}"
            yield f"{piece} is planned for {len(at)} turbines at once on {when}: by {_and(bases)}; it serves {capacity}."


def _parts(plans: Plans) -> Iterator[str]:
    taking: dict[str, list[PartNeed]] = defaultdict(list)
    for need in plans.needs:
        taking[need.part].append(need)
    for part, needs in sorted(taking.items()):
        stock = plans.stock.get(part, Stock(0))
        for day in sorted({need.day for need in needs}):
            until = [need for need in needs if need.day <= day]
            taken, bases = sum(need.quantity for need in until), {need.base for need in until}
            if taken > stock.by(day) and len(bases) > 1:
                yield f"{taken} of {part} are planned by {day}, of which {stock.by(day)} are there by then: by {_and(bases)}."
                break


def _and(bases: Iterable[str]) -> str:
    *most, last = sorted(bases)
    return f"{', '.join(most)} and {last}" if most else last
