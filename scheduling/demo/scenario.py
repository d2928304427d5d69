"""The invented farm of fixtures/scenario.json as rows. Dates are days from the demo's first day."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth import get_user_model
from django.db import transaction

from planner import models as m
from planner.due import add_months
from scheduling.demo import assets, work

SCENARIO = Path(settings.BASE_DIR) / "fixtures" / "scenario.json"
DEMO_PASSWORD = "lull-demo"


@dataclass
class Loaded:
    """Rows by the names the scenario uses."""

    first_day: date
    data: dict[str, Any]
    base: m.Base
    sites: dict[str, m.Site] = field(default_factory=dict)
    types: dict[str, m.TurbineType] = field(default_factory=dict)
    turbines: dict[str, m.Turbine] = field(default_factory=dict)
    kinds: dict[str, m.ComponentKind] = field(default_factory=dict)
    skills: dict[str, m.Skill] = field(default_factory=dict)
    limit_sets: dict[str, m.LimitSet] = field(default_factory=dict)
    equipment: dict[str, m.Equipment] = field(default_factory=dict)
    parts: dict[str, m.Part] = field(default_factory=dict)
    procedures: dict[str, m.Procedure] = field(default_factory=dict)
    intervals: dict[str, m.Interval] = field(default_factory=dict)
    technicians: dict[str, m.Technician] = field(default_factory=dict)

    def day(self, ahead: int) -> date:
        """The date so many days after the demo's first day."""
        return self.first_day + timedelta(days=ahead)


@transaction.atomic
def scenario_load(*, first_day: date) -> m.Base:
    """Lay the scenario into an empty register; all of it or nothing."""
    data = _scenario()
    rules = m.RuleSet.objects.create(**data["rule_sets"][0])
    loaded = Loaded(first_day, data, m.Base.objects.create(**data["base"]))
    for row in data["sites"]:
        loaded.sites[row["code"]] = m.Site.objects.create(base=loaded.base, rule_set=rules, **row)
    assets.load(loaded)
    _people(loaded)
    _teams(loaded)
    _users(loaded)
    work.load(loaded)
    return loaded.base


def scenario_is_loaded() -> bool:
    """Whether the demo's base stands in the register."""
    return m.Base.objects.filter(name=_scenario()["base"]["name"]).exists()


def base_zone() -> ZoneInfo:
    """The time zone of the demo's base."""
    return ZoneInfo(_scenario()["base"]["time_zone"])


def _scenario() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(SCENARIO.read_text(encoding="utf-8"))
    return data


def _people(loaded: Loaded) -> None:
    patterns = {row["name"]: _pattern(row) for row in loaded.data["shift_patterns"]}
    kinds = [_certificate_kind(loaded, row) for row in loaded.data["certificate_kinds"]]
    for number, row in enumerate(loaded.data["technicians"]):
        person = m.Technician.objects.create(
            name=row["name"],
            base=loaded.base,
            shift_pattern=patterns[row["shift_pattern"]],
            learner=row.get("learner", False),
            contractor=row.get("contractor", False),
        )
        loaded.technicians[person.name] = person
        for code, level in row["skills"].items():
            m.HeldSkill.objects.create(technician=person, skill=loaded.skills[code], level=level)
        for first, last, reason in row.get("absences", []):
            days = {"first_day": loaded.day(first), "last_day": loaded.day(last)}
            m.Absence.objects.create(technician=person, reason=reason, **days)
        for first, last, cost in row.get("hired", []):
            days = {"first_day": loaded.day(first), "last_day": loaded.day(last)}
            m.HirePeriod.objects.create(technician=person, day_cost=cost, **days)
        for at, kind in enumerate(kinds):
            ends = row.get("expired", {}).get(kind.code, 45 + (number * 61 + at * 97) % 500)
            _certificate(loaded, person, kind, loaded.day(ends))


def _teams(loaded: Loaded) -> None:
    """Who works with whom, and who is on call."""
    for first, second, kind, reason in loaded.data["pairs"]:
        two = {"first": loaded.technicians[first], "second": loaded.technicians[second]}
        m.Pair.objects.create(kind=kind, reason=reason, **two)
    for name, start, end in loaded.data["on_call"]:
        days = {"first_day": loaded.day(start), "last_day": loaded.day(end)}
        m.OnCall.objects.create(technician=loaded.technicians[name], **days)


def _pattern(row: dict[str, Any]) -> m.ShiftPattern:
    times = {name: time.fromisoformat(row[name]) for name in ("start", "end")}
    return m.ShiftPattern.objects.create(**{**row, **times})


def _certificate_kind(loaded: Loaded, row: dict[str, Any]) -> m.CertificateKind:
    skill = loaded.skills.get(row.get("for_skill", ""))
    return m.CertificateKind.objects.create(**{**row, "for_skill": skill})


def _certificate(loaded: Loaded, person: m.Technician, kind: m.CertificateKind, ends: date) -> None:
    if kind.for_skill_id and not person.skills.filter(skill=kind.for_skill_id).exists():
        return
    m.Certificate.objects.create(
        technician=person, kind=kind, issued_on=add_months(ends, -kind.validity_months), valid_until=ends
    )


def _users(loaded: Loaded) -> None:
    """One user a role, all with the demo's password; the planner may also enter the admin site."""
    for name, role, technician in loaded.data["users"]:
        user, _ = get_user_model().objects.get_or_create(username=name)
        user.is_staff = role == "planner"
        user.set_password(DEMO_PASSWORD)
        user.save()
        for site in loaded.sites.values():
            m.Membership.objects.create(user=user, site=site, role=role)
        if technician:
            m.Technician.objects.filter(name=technician).update(user=user)
