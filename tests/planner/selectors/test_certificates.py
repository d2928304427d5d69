"""Certificates of the tiny farm's people."""

from __future__ import annotations

from datetime import date

from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.models import Certificate, CertificateKind, HeldSkill, Technician
from planner.selectors.due import certificates_due
from tests.farm import TODAY, Farm


def states(farm: Farm, today: date = TODAY) -> dict[tuple[str, str], str]:
    return {(one.technician.name, one.kind.code): one.state for one in certificates_due(base=farm.north, today=today)}


def test_the_farms_people(farm: Farm) -> None:
    assert states(farm) == {
        ("Dov", "heights"): "overdue",
        ("Ada", "voltage"): "open",
        ("Ben", "voltage"): "open",
        ("Ada", "heights"): "not open",
        ("Ben", "heights"): "not open",
        ("Cleo", "heights"): "not open",
    }
    first = certificates_due(base=farm.north, today=TODAY)[0]
    assert first.valid_until == date(2026, 5, 31)
    assert first.sentence == "Dov: Work at height: expired on 2026-05-31: no work that needs it until it is renewed."


def test_the_last_valid_day_is_valid(farm: Farm) -> None:
    # GWO Basic Safety Training V20, section 5.5: renewed at most two months early it keeps its date.
    assert states(farm, date(2026, 3, 30))["Dov", "heights"] == "not open"
    assert states(farm, date(2026, 3, 31))["Dov", "heights"] == "open"
    assert states(farm, date(2026, 5, 31))["Dov", "heights"] == "due"
    assert states(farm, date(2026, 6, 1))["Dov", "heights"] == "overdue"


def test_a_missing_base_certificate_and_a_skill_without_its_certificate_come_first(farm: Farm) -> None:
    Certificate.objects.filter(technician=farm.people["Dov"]).delete()
    HeldSkill.objects.create(technician=farm.people["Cleo"], skill=CertificateKind.objects.get(code="voltage").for_skill)
    found = certificates_due(base=farm.north, today=TODAY)[:2]
    assert [(one.technician.name, one.kind.code, one.valid_until, one.state) for one in found] == [
        ("Cleo", "voltage", None, "overdue"),
        ("Dov", "heights", None, "overdue"),
    ]
    assert "no certificate on record" in found[0].sentence


def test_the_renewed_certificate_counts_and_one_from_the_future_does_not(farm: Farm) -> None:
    dov, heights = farm.people["Dov"], CertificateKind.objects.get(code="heights")
    Certificate.objects.create(technician=dov, kind=heights, issued_on=date(2026, 5, 1), valid_until=date(2028, 5, 31))
    assert states(farm)["Dov", "heights"] == "not open"
    Certificate.objects.filter(technician=dov).delete()
    Certificate.objects.create(technician=dov, kind=heights, issued_on=date(2026, 7, 1), valid_until=date(2028, 7, 1))
    found = {(one.technician.name, one.kind.code): one for one in certificates_due(base=farm.north, today=TODAY)}
    assert found["Dov", "heights"].state == "overdue"
    assert "not valid before 2026-07-01" in found["Dov", "heights"].sentence


def test_a_gap_between_two_certificates_is_seen(farm: Farm) -> None:
    heights = CertificateKind.objects.get(code="heights")
    Certificate.objects.create(
        technician=farm.people["Dov"], kind=heights, issued_on=date(2026, 7, 1), valid_until=date(2028, 7, 1)
    )
    found = certificates_due(base=farm.north, today=TODAY)
    dov = next(one for one in found if one.technician.name == "Dov")
    assert dov.state == "overdue"
    assert "not valid before 2026-07-01" in dov.sentence


def test_people_of_other_bases_and_inactive_ones_are_left_out_and_queries_do_not_grow(farm: Farm) -> None:
    with CaptureQueriesContext(connection) as few:
        certificates_due(base=farm.north, today=TODAY)
    week, heights = farm.people["Ada"].shift_pattern, CertificateKind.objects.get(code="heights")
    for number in range(30):
        person = Technician.objects.create(name=f"N{number}", base=farm.north, shift_pattern=week)
        Certificate.objects.create(technician=person, kind=heights, issued_on=TODAY, valid_until=date(2028, 6, 10))
    Technician.objects.create(name="Gone", base=farm.north, shift_pattern=week, active=False)
    Technician.objects.create(name="Far", base=farm.plain.base, shift_pattern=week)
    with CaptureQueriesContext(connection) as many:
        found = certificates_due(base=farm.north, today=TODAY)
    assert len(found) == 36
    assert len(few) == len(many) == 4
