"""One line for each register table: a good body (the n-th of many), a change, and a body that must be refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from planner.models import CertificateKind, ComponentKind, Equipment, LimitSet, Part, RuleSet, ShiftPattern, Skill, Technician
from tests.farm import CURVE, Farm

Body = dict[str, Any]


@dataclass(frozen=True)
class Case:
    """A table under /api/v1/. `private`: rows are hidden from people of other sites. `crew`: technicians write too."""

    route: str
    body: Callable[[Farm, int], Body]
    change: Body
    bad: Body
    bad_field: str
    private: bool = False
    crew: bool = False
    stranger_status: int = field(default=400)

    def __str__(self) -> str:
        return self.route


def _day(n: int) -> str:
    return str(date(2027, 1, 1) + timedelta(days=n))


def _site(farm: Farm, n: int) -> Body:
    return {
        "code": f"S{n}", "name": f"Site {n}", "base": farm.north.pk, "rule_set": RuleSet.objects.get().pk,
        "time_zone": "Europe/Berlin", "country": "DE", "currency": "EUR", "price_per_mwh": 60.5, "latitude": 54.6,
        "longitude": 9.0,
    }  # fmt: skip


def _base(farm: Farm, n: int) -> Body:
    return {"name": f"Base {n}", "latitude": 50, "longitude": 8, "time_zone": "Europe/Berlin"}


def _type(farm: Farm, n: int) -> Body:
    return {"name": f"Type {n}", "rotor_diameter_m": 100, "rated_kw": 3000, "power_curve": CURVE}


def _turbine(farm: Farm, n: int) -> Body:
    return {
        "site": farm.hill.pk, "code": f"T{n}", "type": farm.h1.type_id, "latitude": 54.6, "longitude": 9, "hub_height_m": 100,
        "commissioned_on": "2020-06-10",
    }  # fmt: skip


def _component(farm: Farm, n: int) -> Body:
    return {"turbine": farm.h2.pk, "kind": ComponentKind.objects.get(code="blade").pk, "position": n + 1, "of": 100}


def _procedure(farm: Farm, n: int) -> Body:
    return {
        "code": f"p{n}", "name": f"Procedure {n}", "kind": "service", "effort_person_h": 8,
        "limit_set": LimitSet.objects.get(code="tower").pk,
        "steps": [{"number": 1, "kind": "tick", "text": "Isolated"}, {"number": 2, "kind": "text", "text": "What you saw"}],
        "skill_needs": [{"skill": Skill.objects.get(code="electrical").pk, "level": 2}],
        "part_needs": [{"part": Part.objects.get(code="filter").pk, "quantity": 2}],
        "equipment_needs": [{"equipment": Equipment.objects.get().pk}],
    }  # fmt: skip


def _interval(farm: Farm, n: int) -> Body:
    return {
        "code": f"i{n}", "procedure": farm.procedures["lamp"].pk, "scope": "turbine", "turbine": farm.h1.pk, "every": 6,
        "stops": ["lift"], "absorbs": [farm.intervals["svc-6"].pk],
    }  # fmt: skip


def _limit_set(farm: Farm, n: int) -> Body:
    return {"code": f"l{n}", "name": f"Limits {n}", "limits": [{"quantity": "wind", "value": 11}]}


def _technician(farm: Farm, n: int) -> Body:
    return {
        "name": f"Person {n}", "base": farm.north.pk, "shift_pattern": ShiftPattern.objects.get().pk,
        "skills": [{"skill": Skill.objects.get(code="electrical").pk, "level": 2}],
    }  # fmt: skip


def _certificate(farm: Farm, n: int) -> Body:
    kind = CertificateKind.objects.get(code="heights")
    return {"technician": farm.people["Ada"].pk, "kind": kind.pk, "issued_on": _day(n), "valid_until": "2029-12-31"}


def _closure(farm: Farm, n: int) -> Body:
    return {
        "site": farm.hill.pk,
        "kind": "road",
        "road": "track",
        "reason": f"works {n}",
        "first_day": _day(n),
        "last_day": _day(n),
    }


def _shift(farm: Farm, n: int) -> Body:
    return {"name": f"shift {n}", "weekdays": [1, 2, 3], "start": "07:00", "end": "15:00"}


def _equipment(farm: Farm, n: int) -> Body:
    return {"name": f"platform {n}", "kind": "platform", "base": farm.north.pk}


def _booking(farm: Farm, n: int) -> Body:
    return {"equipment": Equipment.objects.get(name="crane").pk, "first_day": _day(n), "last_day": _day(n + 1)}


def _delivery(farm: Farm, n: int) -> Body:
    return {"part": Part.objects.get(code="motor").pk, "quantity": 1, "expected_on": _day(n)}


def _reading(farm: Farm, n: int) -> Body:
    return {"turbine": farm.h1.pk, "counter": "running_hours", "read_on": _day(n), "value": 50_000 + n}


def _absence(farm: Farm, n: int) -> Body:
    return {"technician": farm.people["Ben"].pk, "first_day": _day(n), "last_day": _day(n)}


def _pair(farm: Farm, n: int) -> Body:
    week = ShiftPattern.objects.get(name="week")
    other, _ = Technician.objects.get_or_create(name=f"Other {n}", defaults={"base": farm.north, "shift_pattern": week})
    return {"first": farm.people["Ada"].pk, "second": other.pk, "kind": "gladly"}


def _hire(farm: Farm, n: int) -> Body:
    return {**_absence(farm, 2 * n), "day_cost": 650}


def _call_out(farm: Farm, n: int) -> Body:
    return {"technician": farm.people["Ben"].pk, "ended_at": f"{_day(n)}T02:30:00Z"}


OPEN: Body = {"stranger_status": 201}
"""A planner of any site may write it."""

CASES = [
    Case("sites", _site, {"confidence": 0.9}, {"confidence": 2}, "confidence", private=True, stranger_status=403),
    Case("bases", _base, {"speed_kmh": 30}, {"time_zone": "Mars/Olympus"}, "time_zone", **OPEN),
    Case("rule-sets", lambda farm, n: {"name": f"r{n}"}, {"week_max_h": 40}, {"team_least": 1}, "team_least", **OPEN),
    Case("turbine-types", _type, {"rated_kw": 3100}, {"power_curve": [[3, 0]]}, "power_curve", **OPEN),
    Case("turbines", _turbine, {"feeder": "F9"}, {"hub_height_m": 90}, "hub_height_m", private=True),
    Case("component-kinds", lambda farm, n: {"code": f"k{n}", "name": "k"}, {"name": "x"}, {"code": "a b"}, "code", **OPEN),
    Case("components", _component, {"serial": "1"}, {"position": 101}, "position", private=True),
    Case("counter-readings", _reading, {"value": 60_000}, {"value": -1}, "value", private=True, crew=True),
    Case("limit-sets", _limit_set, {"daylight": True}, {"limits": [{"quantity": "wind", "value": 2.5}]}, "limits", **OPEN),
    Case("procedures", _procedure, {"pack_min": 20}, {"team_min": 1}, "team_min", **OPEN),
    Case("intervals", _interval, {"active": False}, {"every": 0}, "every", private=True),
    Case("skills", lambda farm, n: {"code": f"s{n}", "name": "s"}, {"name": "x"}, {"name": ""}, "name", **OPEN),
    Case("certificate-kinds", lambda farm, n: {"code": f"c{n}", "name": "c"}, {"rescue": True}, {"validity_months": 0},
         "validity_months", **OPEN),
    Case("shift-patterns", _shift, {"overtime_h": 1}, {"end": "06:00"}, "", **OPEN),
    Case("technicians", _technician, {"learner": True}, {"skills": [{"skill": 0}]}, "skills", private=True, stranger_status=403),
    Case("certificates", _certificate, {"valid_until": "2029-01-01"}, {"valid_until": "2026-01-01"}, "valid_until", private=True),
    Case("absences", _absence, {"reason": "course"}, {"last_day": "2026-01-01"}, "last_day", private=True),
    Case("equipment", _equipment, {"capacity": 2}, {"day_cost": -1}, "day_cost", stranger_status=403),
    Case("bookings", _booking, {"last_day": "2028-01-01"}, {"last_day": "2026-02-31"}, "last_day", stranger_status=403),
    Case("vehicles", lambda farm, n: {"name": f"v{n}", "base": farm.north.pk}, {"seats": 4}, {"seats": 1}, "seats", private=True,
         stranger_status=403),
    Case("lodgings", lambda farm, n: {"name": f"inn {n}", "base": farm.north.pk, "latitude": 54, "longitude": 9}, {"beds": 4},
         {"beds": 0}, "beds", private=True, stranger_status=403),
    Case("pairs", _pair, {"reason": "course"}, {"kind": "foes"}, "kind", private=True),
    Case("hire-periods", _hire, {"day_cost": 700}, {"day_cost": -1}, "day_cost", private=True),
    Case("on-calls", _absence, {"last_day": "2028-01-01"}, {"last_day": "2026-01-01"}, "last_day", private=True),
    Case("call-outs", _call_out, {"note": "grid fault"}, {"ended_at": "yesterday"}, "ended_at", private=True),
    Case("parts", lambda farm, n: {"code": f"x{n}", "name": "x"}, {"stock": 3}, {"stock": -3}, "stock", **OPEN),
    Case("deliveries", _delivery, {"received_on": "2027-02-02"}, {"quantity": 0}, "quantity", **OPEN),
    Case("closures", _closure, {"reason": "storm"}, {"last_day": "2026-01-01"}, "last_day", private=True),
]  # fmt: skip
