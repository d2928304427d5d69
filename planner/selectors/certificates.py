"""Which certificates of a base's people run out, and which are missing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from planner import due as core
from planner.models import Base, Certificate, CertificateKind, Technician

NONE_ON_RECORD = "no certificate on record"


@dataclass(frozen=True)
class CertificateDue:
    """A person's certificate of one kind. `state` in planner.due's words: open is the time in which a renewal keeps the date."""

    technician: Technician
    kind: CertificateKind
    valid_until: date | None
    state: core.State
    sentence: str


def certificates_due(*, base: Base, today: date) -> list[CertificateDue]:
    """Every kind an active person of the base holds, held or must hold, soonest first, missing ones before all. Four queries.

    A person must hold every base certificate, and for each skill the certificate without which it does not count.
    """
    people = list(Technician.objects.filter(base=base, active=True).prefetch_related("skills"))
    kinds = list(CertificateKind.objects.order_by("code"))
    held: dict[tuple[int, int], list[Certificate]] = defaultdict(list)
    for certificate in Certificate.objects.filter(technician__in=people):
        held[certificate.technician_id, certificate.kind_id].append(certificate)
    found = [
        _due(person, kind, held[person.pk, kind.pk], today)
        for person in people
        for kind in _kinds_of(person, kinds, {kind_id for owner, kind_id in held if owner == person.pk})
    ]
    return sorted(found, key=lambda one: (one.valid_until or date.min, one.technician.name, one.kind.code))


def _kinds_of(person: Technician, kinds: list[CertificateKind], held: set[int]) -> Iterator[CertificateKind]:
    skills = {skill.skill_id for skill in person.skills.all()}
    return (kind for kind in kinds if kind.pk in held or kind.base_certificate or kind.for_skill_id in skills)


def _due(person: Technician, kind: CertificateKind, held: list[Certificate], today: date) -> CertificateDue:
    begun = [certificate for certificate in held if certificate.issued_on <= today]
    last = max(begun, key=lambda certificate: certificate.valid_until, default=None)
    later = min((certificate.issued_on for certificate in held if certificate.issued_on > today), default=None)
    if last is None or last.valid_until < today:
        why = _lapsed(last, later)
        return CertificateDue(person, kind, last.valid_until if last else None, "overdue", f"{person.name}: {kind.name}: {why}.")
    opens = core.add_months(last.valid_until, -kind.early_months)
    state = core.state_on(opens, last.valid_until, last.valid_until, today)
    when = f"renewed from {opens} on, it keeps its date" if state == "not open" else "renewed now, it keeps its date"
    return CertificateDue(
        person, kind, last.valid_until, state, f"{person.name}: {kind.name}: valid until {last.valid_until}; {when}."
    )


def _lapsed(last: Certificate | None, later: date | None) -> str:
    if later:
        return f"not valid before {later}"
    return f"expired on {last.valid_until}: no work that needs it until it is renewed" if last else NONE_ON_RECORD
