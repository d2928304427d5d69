"""Technicians, their shifts, certificates and skills, and the vehicles, as the fortnight sees them."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from planner import gates
from planner.due import Certificate as HeldCertificate
from planner.models import Base, CertificateKind, Pair, Technician
from scheduling.builders.horizon import SLOT_MIN, Horizon
from scheduling.builders.shifts import JOINS, hours_of, works_on
from scheduling.fortnight.problem import Held, Person, Shift, Vehicle


def technicians_of(base: Base) -> list[Technician]:
    """Active technicians of a base with all that planning asks of them, in seven queries."""
    rows = Technician.objects.filter(base=base, active=True).select_related("shift_pattern")
    return list(rows.prefetch_related("skills__skill", "certificates__kind", *JOINS))


def people_of(base: Base, horizon: Horizon, now: datetime, rest_h: float) -> tuple[Person, ...]:
    """Everybody of the base as frozen records. Slots before `now` are gone; `rest_h` is the daily rest after a call-out."""
    kinds = list(CertificateKind.objects.select_related("for_skill"))
    return tuple(_person(one, horizon, now, kinds, rest_h) for one in technicians_of(base))


def pairs_of(base: Base, horizon: Horizon) -> dict[str, tuple[tuple[str, str], ...]]:
    """kind -> pairs of active people of the base. A pair that holds on any day of the horizon holds on all of it."""
    first, last = horizon.date_of(0), horizon.date_of(horizon.days - 1)
    rows = Pair.objects.filter(first__base=base, second__base=base, first__active=True, second__active=True)
    found: dict[str, tuple[tuple[str, str], ...]] = {}
    for row in rows.select_related("first", "second"):
        if (row.from_day or first) <= last and (row.until_day or last) >= first:
            found[row.kind] = (*found.get(row.kind, ()), (row.first.name, row.second.name))
    return found


def vehicles_of(base: Base) -> tuple[Vehicle, ...]:
    """The base's vehicles."""
    return tuple(Vehicle(one.name, one.seats) for one in base.vehicles.all())


def held_by(technician: Technician) -> list[HeldCertificate]:
    """A technician's certificates as records of the core (certificates prefetched)."""
    return [HeldCertificate(c.kind.code, c.issued_on, c.valid_until) for c in technician.certificates.all()]


def _person(one: Technician, horizon: Horizon, now: datetime, kinds: list[CertificateKind], rest_h: float) -> Person:
    held = held_by(one)
    base_kinds = [kind.code for kind in kinds if kind.base_certificate]
    rescue_kinds = [kind.code for kind in kinds if kind.rescue]
    days = range(horizon.days)

    def fit(day: int, needed: list[str]) -> bool:
        return not gates.person_fit(held, horizon.date_of(day), needed)

    shifts = (_shift(one, horizon, day, now, rest_h) for day in days)
    return Person(
        id=one.name,
        name=one.name,
        shifts=tuple(shift for shift in shifts if shift is not None),
        skills=_skills(one, horizon, kinds, held),
        fit_days=tuple(day for day in days if fit(day, base_kinds)),
        rescue_days=tuple(day for day in days if any(fit(day, [kind]) for kind in rescue_kinds)),
        learner=one.learner,
        day_cost=_day_cost(one, horizon),
    )


def _day_cost(one: Technician, horizon: Horizon) -> int:
    """Cents for each day out of a hired person; of several hire periods of the horizon the dearest."""
    first, last = horizon.date_of(0), horizon.date_of(horizon.days - 1)
    prices = [hire.day_cost for hire in one.hires.all() if hire.first_day <= last and hire.last_day >= first]
    return round(max(prices, default=0.0) * 100) if one.contractor else 0


def _skills(one: Technician, horizon: Horizon, kinds: list[CertificateKind], held: list[HeldCertificate]) -> tuple[Held, ...]:
    found = []
    for skill in one.skills.all():
        asked = [kind.code for kind in kinds if kind.for_skill_id == skill.skill_id]
        days = (day for day in range(horizon.days) if not gates.person_fit(held, horizon.date_of(day), asked))
        found.append(Held(skill.skill.code, skill.level, tuple(days)))
    return tuple(found)


def _shift(one: Technician, horizon: Horizon, day: int, now: datetime, rest_h: float) -> Shift | None:
    local: date = horizon.date_of(day)
    if not works_on(one, local):
        return None
    hours = hours_of(one, local, horizon.zone, rest_h)
    first = max(0, horizon.slot_of(max(hours.starts, now), day))
    regular = _whole_slots_before(horizon, hours.regular_end, day)
    last = min(horizon.slots_a_day, _whole_slots_before(horizon, hours.ends, day))
    return Shift(day, first, last, min(regular, last)) if first < last else None


def _whole_slots_before(horizon: Horizon, when: datetime, day: int) -> int:
    return int((when - horizon.opens_at(day)) // timedelta(minutes=SLOT_MIN))


def shift_hours(technician: Technician) -> float:
    """Regular hours of one working day."""
    pattern = technician.shift_pattern
    return _hours(pattern.end) - _hours(pattern.start)


def _hours(moment: time) -> float:
    return moment.hour + moment.minute / 60.0
