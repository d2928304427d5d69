"""What cannot be is refused with one sentence at its field, and nothing is saved."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import Model

from planner.models import (
    Absence,
    Certificate,
    Closure,
    Component,
    Interval,
    LimitSet,
    Membership,
    Procedure,
    ShiftPattern,
    Site,
    Technician,
    Turbine,
    TurbineType,
    WorkDone,
)
from tests.admin_forms import address, complaints, filled, send
from tests.admin_rows import staff
from tests.farm import Farm

GOOD: dict[type[Model], Any] = {
    Absence: lambda farm: {"technician": farm.people["Ada"].pk, "first_day": "2026-07-01", "last_day": "2026-07-03"},
    Certificate: lambda farm: {
        "technician": farm.people["Ada"].pk, "kind": farm.people["Ada"].certificates.all()[0].kind_id, "issued_on": "2026-06-01",
        "valid_until": "2028-05-31",
    },
    Closure: lambda farm: {
        "site": farm.hill.pk, "kind": "birds", "reason": "owl", "first_day": "2026-07-01", "last_day": "2026-07-03",
    },
    Component: lambda farm: {"turbine": farm.h1.pk, "kind": farm.blades[0].kind_id, "position": 4, "of": 4},
    Interval: lambda farm: {
        "code": "new", "procedure": farm.procedures["lamp"].pk, "scope": "turbine", "turbine": farm.h1.pk, "every": "6",
        "stops": ["lift"],
    },
    LimitSet: lambda farm: {
        "code": "new", "name": "New", "limits-TOTAL_FORMS": "1", "limits-0-quantity": "wind", "limits-0-comparison": "<=",
        "limits-0-value": "11", "limits-0-at_hub": "on", "limits-0-averaging_min": "10",
        "limits-0-clear_after_min": "20", "limits-0-offset_c": "0",
    },
    Procedure: lambda farm: {
        "code": "new", "name": "New", "kind": "service", "effort_person_h": "8", "limit_set": farm.procedures["oil"].limit_set_id,
        "steps-TOTAL_FORMS": "1", "steps-0-number": "1", "steps-0-kind": "reading", "steps-0-text": "Oil", "steps-0-unit": "bar",
    },
    ShiftPattern: lambda farm: {"name": "new", "weekdays": ["1", "2"], "start": "07:00", "end": "15:00"},
    Site: lambda farm: {
        "code": "NEW", "name": "New", "base": farm.north.pk, "rule_set": farm.hill.rule_set_id, "time_zone": "Europe/Berlin",
        "country": "DE", "currency": "EUR", "price_per_mwh": "60", "latitude": "54", "longitude": "9",
    },
    Turbine: lambda farm: {
        "site": farm.hill.pk, "code": "H9", "type": farm.h1.type_id, "latitude": "54", "longitude": "9", "hub_height_m": "100",
        "commissioned_on": "2020-06-10",
    },
    TurbineType: lambda farm: {
        "name": "New", "rotor_diameter_m": "90", "rated_kw": "2000", "power_curve": "[[3, 0], [12, 2000]]",
    },
    WorkDone: lambda farm: {"interval": farm.intervals["svc-12"].pk, "turbine": farm.h1.pk, "done_on": "2024-06-01"},
    Membership: lambda farm: {"user": "stranger", "site": farm.hill.pk, "role": "viewer"},
    Technician: lambda farm: {
        "name": "Eve", "base": farm.north.pk, "shift_pattern": ShiftPattern.objects.get().pk, "user": "lead",
    },
}  # fmt: skip

BAD: list[tuple[type[Model], dict[str, Any], str, str]] = [
    (Absence, {"first_day": "2026-02-31"}, "first_day", "no day of the calendar: give year-month-day"),
    (Absence, {"last_day": "2026-06-30"}, "last_day", "lies before first_day: give an end on or after"),
    (Absence, {"technician": "0"}, "technician", "no such technician, or it is not for you: choose one"),
    (Certificate, {"valid_until": "2026-05-31"}, "valid_until", "lies before issued_on: give an end on or after"),
    (Closure, {"turbine": "P1"}, "turbine", "no such turbine, or it is not for you: choose one"),
    (Closure, {"turbine": "H1", "road": "main track"}, "__all__", "a turbine or a road, not both"),
    (Component, {"turbine": "H2", "parent": "blade"}, "parent", "another turbine: choose one of this turbine"),
    (Component, {"position": "5"}, "position", "between 1 and the number of alike"),
    (Interval, {"every": "0"}, "every", "must be above 0"),
    (Interval, {"every": "1.5"}, "every", "give whole months"),
    (Interval, {"statutory": "on", "late_days": "30"}, "__all__", "late_days must be 0"),
    (Interval, {"early_days": "400"}, "early_days", "use fewer than"),
    (Interval, {"stops": ["everything"]}, "stops", "Select a valid choice"),
    (Interval, {"turbine": ""}, "__all__", "a turbine type, a component kind, or one turbine"),
    (LimitSet, {"limits-0-value": "2.5"}, "value", "below cut-in (3 m/s): check the unit"),
    (LimitSet, {"limits-0-value": "12,5"}, "value", "with a point for decimals"),
    (LimitSet, {"limits-0-value": "nan"}, "value", "Give a finite number"),
    (LimitSet, {"limits-0-at_hub": ""}, "__all__", "tick at_hub or give height_m"),
    (LimitSet, {"limits-0-height_m": "10"}, "height_m", "untick at_hub or leave it empty"),
    (LimitSet, {"limits-0-comparison": ">="}, "comparison", "give at most or below"),
    (LimitSet, {"limits-0-quantity": "visibility"}, "comparison", "at least or above"),
    (LimitSet, {"limits-0-clear_after_min": "-1"}, "clear_after_min", "give 0 to 1440 minutes"),
    (LimitSet, {"limits-0-offset_c": "5"}, "offset_c", "for temperature, WBGT and work share only"),
    (LimitSet, {"limits-0-quantity": "rain", "limits-0-value": "-1"}, "value", "cannot lie below 0"),
    (LimitSet, {"limits-0-quantity": "humidity", "limits-0-value": "101"}, "value", "a percentage here: give 0 to 100"),
    (LimitSet, {"limits-0-quantity": "wind_chill", "limits-0-comparison": ">="}, "value", "give 10 or less"),
    (LimitSet, {"limits-0-quantity": "work_share", "limits-0-comparison": ">="}, "metabolic_class", "give 0 (resting) to 4"),
    (LimitSet, {"limits-0-metabolic_class": "2"}, "metabolic_class", "goes with a work share, and only there"),
    (LimitSet, {"limits-0-metabolic_class": "5"}, "metabolic_class", "Select a valid choice"),
    (LimitSet, {"gust_factor": "0.8"}, "gust_factor", "must be 1 or more"),
    (Procedure, {"effort_person_h": "-8"}, "effort_person_h", "must be above 0"),
    (Procedure, {"team_min": "1"}, "team_min", "must be 2 or more"),
    (Procedure, {"team_max": "1"}, "team_max", "give a range such as 2 to 3"),
    (Procedure, {"steps-0-unit": ""}, "__all__", "needs its unit"),
    (ShiftPattern, {"end": "06:00"}, "__all__", "must end after it starts"),
    (ShiftPattern, {"weekdays": []}, "weekdays", "Give weekdays"),
    (Site, {"time_zone": "Berlin"}, "time_zone", "give an IANA name such as"),
    (Site, {"confidence": "80"}, "confidence", "is a share"),
    (Site, {"price_by_hour": "[1, 2]"}, "price_by_hour", "24 prices"),
    (Turbine, {"hub_height_m": "90"}, "hub_height_m", "lift reaches above this hub"),
    (Turbine, {"code": "H1"}, "__all__", "already exists"),
    (TurbineType, {"power_curve": "[[3, 0], [NaN, 1]]"}, "power_curve", "with numbers of 0 or more"),
    (TurbineType, {"power_curve": "fast"}, "power_curve", "no JSON"),
    (TurbineType, {"cut_out_mps": "2"}, "cut_out_mps", "must lie above cut_in_mps"),
    (WorkDone, {"done_on": "2026-06-11"}, "done_on", "not come yet at the site: give 2026-06-10 or before"),
    (WorkDone, {"interval": "low-12"}, "interval", "does not fall due on H1: choose what it applies to"),
    (WorkDone, {"component": "blade", "turbine": "H2"}, "component", "another turbine than H2: choose one of it"),
    (WorkDone, {"done_on": "2025-06-22"}, "done_on", "already"),
    (Membership, {"user": "nobody"}, "user", "give the username of one, in full"),
    (Technician, {"user": "stranger"}, "user", "give the username of one, in full"),
]


def meant(farm: Farm, changes: dict[str, Any]) -> dict[str, Any]:
    """Rows named by their code become ids."""
    rows: dict[Any, Model] = {"P1": farm.p1, "H1": farm.h1, "H2": farm.h2, "blade": farm.blades[0]}
    found = {name: rows[value].pk for name, value in changes.items() if isinstance(value, str) and name in ("turbine", "parent", "component") and value}  # fmt: skip  # noqa: E501
    if changes.get("interval"):
        found["interval"] = farm.intervals[changes["interval"]].pk
    return changes | found


@pytest.fixture
def accounts(lead_user: User, stranger: User) -> None:
    """Two more accounts: one of HILL, one of PLAIN."""


@pytest.mark.parametrize("model", GOOD, ids=lambda one: one.__name__)
def test_the_good_row_is_saved(model: type[Model], farm: Farm, planner_user: User, accounts: None) -> None:
    count = model._default_manager.count()
    answer = send(staff(planner_user), address(model, "add"), **GOOD[model](farm))
    assert answer.status_code == 302, complaints(answer)
    assert model._default_manager.count() == count + 1
    newest: Any = model._default_manager.order_by("-pk")[0]
    assert newest.history.get().history_user == planner_user


@pytest.mark.parametrize(("model", "changes", "field", "sentence"), BAD)
def test_the_bad_row_is_refused(
    model: type[Model], changes: dict[str, Any], field: str, sentence: str, farm: Farm, planner_user: User, accounts: None
) -> None:
    client, where = staff(planner_user), address(model, "add")
    data = filled(client, where, **{**GOOD[model](farm), **meant(farm, changes)})
    before = {one: one._default_manager.count() for one in GOOD}
    found = complaints(client.post(where, {name: value for name, value in data.items() if value != ""}))
    assert list(found) == [field], found
    assert len(found[field]) == 1, found
    assert sentence in found[field][0]
    assert {one: one._default_manager.count() for one in GOOD} == before


def test_one_bad_row_inside_keeps_the_whole_form_out(farm: Farm, planner_user: User) -> None:
    crew = farm.people["Ada"]
    answer = send(
        staff(planner_user),
        address(Technician, "change", crew.pk),
        name="Ada Two",
        **{"certificates-0-valid_until": "2020-01-01"},
    )
    assert list(complaints(answer)) == ["valid_until"]
    crew.refresh_from_db()
    assert crew.name == "Ada"


def test_a_ring_of_intervals_is_refused(farm: Farm, planner_user: User) -> None:
    small, large = farm.intervals["svc-6"], farm.intervals["svc-12"]
    answer = send(staff(planner_user), address(Interval, "change", small.pk), absorbs=[large.pk])
    assert "absorbs neither itself nor one that absorbs it" in complaints(answer)["absorbs"][0]
    assert not small.absorbs.exists()


def test_a_ring_of_components_is_refused(farm: Farm, planner_user: User) -> None:
    rotor = farm.blades[0].parent
    answer = send(staff(planner_user), address(Component, "change", rotor.pk), parent=farm.blades[0].pk)
    assert "choose one above it" in complaints(answer)["parent"][0]


def test_a_lift_above_a_hub_that_stands_is_refused(farm: Farm, planner_user: User) -> None:
    answer = send(staff(planner_user), address(TurbineType, "change", farm.h1.type_id), lift_to_m="120")
    assert "lower hub: give the height" in complaints(answer)["lift_to_m"][0]


def test_a_procedure_takes_no_limit_set_below_cut_in(farm: Farm, planner_user: User) -> None:
    blade, lamp = LimitSet.objects.get(code="blade"), farm.procedures["lamp"]
    TurbineType.objects.update(cut_in_mps=8.5)
    answer = send(staff(planner_user), address(Procedure, "change", lamp.pk), limit_set=blade.pk)
    assert "8 m/s lies below cut-in (8.5 m/s)" in complaints(answer)["limit_set"][0]
    assert send(staff(planner_user), address(Procedure, "change", lamp.pk), name="Lamp").status_code == 302
    lamp.refresh_from_db()
    assert (lamp.name, lamp.limit_set.code) == ("Lamp", "tower")
