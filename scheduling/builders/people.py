"""Technicians, their shifts, certificates and skills, and the vehicles, as the fortnight sees them."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from planner import gates
from planner.due import Certificate as HeldCertificate
from planner.models import Base, CertificateKind, Technician
from scheduling.builders.horizon import SLOT_MIN, Horizon, local_utc
from scheduling.fortnight.problem import Held, Person, Shift, Vehicle


def technicians_of(base: Base) -> list[Technician]:
    """Active technicians of a base with all that planning asks of them, in four queries."""
    rows = Technician.objects.filter(base=base, active=True).select_related("shift_pattern")
    return list(rows.prefetch_related("skills__skill", "certificates__kind", "absences"))


def people_of(base: Base, horizon: Horizon, now: datetime) -> tuple[Person, ...]:
    """Everybody of the base as frozen records. Slots before `now` are gone."""
    kinds = list(CertificateKind.objects.select_related("for_skill"))
    return tuple(_person(one, horizon, now, kinds) for one in technicians_of(base))


def vehicles_of(base: Base) -> tuple[Vehicle, ...]:
    """The base's vehicles."""
    return tuple(Vehicle(one.name, one.seats) for one in base.vehicles.all())


def held_by(technician: Technician) -> list[HeldCertificate]:
    """A technician's certificates as records of the core (certificates prefetched)."""
    return [HeldCertificate(c.kind.code, c.issued_on, c.valid_until) for c in technician.certificates.all()]


def _person(one: Technician, horizon: Horizon, now: datetime, kinds: list[CertificateKind]) -> Person:
    held = held_by(one)
    base_kinds = [kind.code for kind in kinds if kind.base_certificate]
    rescue_kinds = [kind.code for kind in kinds if kind.rescue]
    days = range(horizon.days)

    def fit(day: int, needed: list[str]) -> bool:
        return not gates.person_fit(held, horizon.date_of(day), needed)

    shifts = (_shift(one, horizon, day, now) for day in days)
    return Person(
        id=one.name,
        name=one.name,
        shifts=tuple(shift for shift in shifts if shift is not None),
        skills=_skills(one, horizon, kinds, held),
        fit_days=tuple(day for day in days if fit(day, base_kinds)),
        rescue_days=tuple(day for day in days if any(fit(day, [kind]) for kind in rescue_kinds)),
        learner=one.learner,
    )


def _skills(one: Technician, horizon: Horizon, kinds: list[CertificateKind], held: list[HeldCertificate]) -> tuple[Held, ...]:
    found = []
    for skill in one.skills.all():
        asked = [kind.code for kind in kinds if kind.for_skill_id == skill.skill_id]
        days = (day for day in range(horizon.days) if not gates.person_fit(held, horizon.date_of(day), asked))
        found.append(Held(skill.skill.code, skill.level, tuple(days)))
    return tuple(found)


def _shift(one: Technician, horizon: Horizon, day: int, now: datetime) -> Shift | None:
    local = horizon.date_of(day)
    pattern = one.shift_pattern
    away = any(absence.first_day <= local <= absence.last_day for absence in one.absences.all())
    if away or local.isoweekday() not in pattern.weekdays:
        return None
    starts, ends = (local_utc(local, moment, horizon.zone) for moment in (pattern.start, pattern.end))
    first = max(0, horizon.slot_of(max(starts, now), day))
    regular = _whole_slots_before(horizon, ends, day)
    last = min(horizon.slots_a_day, _whole_slots_before(horizon, ends + timedelta(hours=pattern.overtime_h), day))
    return Shift(day, first, last, min(regular, last)) if first < last else None


def _whole_slots_before(horizon: Horizon, when: datetime, day: int) -> int:
    return int((when - horizon.opens_at(day)) // timedelta(minutes=SLOT_MIN))


def shift_hours(technician: Technician) -> float:
    """Regular hours of one working day."""
    pattern = technician.shift_pattern
    return _hours(pattern.end) - _hours(pattern.start)


def _hours(moment: time) -> float:
    return moment.hour + moment.minute / 60.0
