"""The morning on the tiny farm: one visit at H1 by Ada and Ben, planned for 10:00 local (08:00 UTC)."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from django.contrib.auth.models import User

from planner.errors import NotAllowedError, PlannerError
from planner.models import CallOut, Equipment, Limit, LimitSet, ProcedureEquipment, Technician
from scheduling.models import Call, Plan, Run, Visit, VisitJob
from scheduling.services.dispatch import TeamCall, morning
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from tests import farm as rows
from workorders.services.orders import order_raise_by_hand


def forecast(farm: rows.Farm, mps: list[float], age_h: float = 1.0) -> None:
    """Hourly wind at 100 m from local midnight on (22:00 UTC the day before)."""
    start = rows.NOW.replace(hour=0) - timedelta(hours=2)
    one = series_of("wind", np.array(mps), start=start, step_min=60, height_m=100, averaging_min=10)
    weather_store(site=farm.hill, kind="forecast", series=(one,), issued_at=rows.NOW - timedelta(hours=age_h))


@pytest.fixture
def visit(farm: rows.Farm, planner_user: User) -> Visit:
    """A published plan's only visit: two hours of work at H1."""
    order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=date(2026, 6, 15), by=planner_user)
    last = rows.TODAY + timedelta(days=13)
    run = Run.objects.create(base=farm.north, kind="fortnight", first_day=rows.TODAY, days=14, problem={}, state="done")
    plan = Plan.objects.create(
        base=farm.north, run=run, state="published", first_day=rows.TODAY, last_day=last, value=0, bound=0, published_at=rows.NOW
    )
    start = rows.NOW + timedelta(hours=2)
    end = start + timedelta(hours=3)
    made = Visit.objects.create(
        plan=plan, turbine=farm.h1, day=rows.TODAY, starts_at=start, ends_at=end, down_by=end, chance=1, by="ladder"
    )
    VisitJob.objects.create(visit=made, order=order, work_min=120)
    made.people.set([farm.people["Ada"], farm.people["Ben"]])
    return made


def say(farm: rows.Farm, **more: object) -> TeamCall:
    """What the morning says to the only team."""
    (call,) = morning(base=farm.north, day=rows.TODAY, now=rows.NOW, **more)  # type: ignore[arg-type]
    return call


def test_a_calm_day_is_go_with_its_times(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [3.0] * 24)
    call = say(farm)
    assert call.verdict.verdict == "go"
    assert call.start == visit.starts_at
    assert call.down_by is not None
    assert call.down_by > visit.ends_at
    assert call.verdict.forecast_age_h == 1.0
    assert "competent person" in call.verdict.caution
    kept = Call.objects.get()
    assert (kept.verdict, kept.visit, kept.down_by) == ("go", visit, call.down_by)
    assert kept.forecast is not None


def test_wind_in_the_morning_is_wait(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [20.0] * 12 + [2.0] * 12)  # calm from 12:00 local on
    call = say(farm)
    assert call.verdict.verdict == "wait"
    assert call.start == rows.NOW + timedelta(hours=4)
    assert call.verdict.binding is not None


def test_a_storm_is_no_go_with_the_limit_and_its_value(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [21.0] * 24)
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    binding = call.verdict.binding
    assert binding is not None
    assert binding.value is not None
    assert binding.value > binding.limit
    assert call.down_by is None


@pytest.mark.parametrize("age_h", [12.1, 48])
def test_a_stale_forecast_is_never_go(farm: rows.Farm, visit: Visit, age_h: float) -> None:
    forecast(farm, [3.0] * 24, age_h=age_h)
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    assert any(reason.code == "stale forecast" for reason in call.verdict.reasons)


def test_no_forecast_is_no_go(farm: rows.Farm, visit: Visit) -> None:
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    assert any(reason.code == "no forecast" for reason in call.verdict.reasons)


def test_a_lapsed_certificate_is_no_go_by_name(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [3.0] * 24)
    visit.people.set(Technician.objects.filter(name__in=["Ada", "Dov"]))
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    assert any("Dov" in reason.text and "expired on 2026-05-31" in reason.text for reason in call.verdict.reasons)


def test_a_visit_behind_an_inspection_is_held_until_that_is_accepted(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [3.0] * 24)
    farm.intervals["lift-12"].stops = ["climbing"]
    farm.intervals["lift-12"].save()
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    assert any(reason.code == "gate" and "climbing" in reason.text for reason in call.verdict.reasons)
    farm.intervals["lift-12"].done.filter(turbine=farm.h1).update(done_on=date(2026, 6, 9))
    assert say(farm).verdict.verdict == "go"


def test_a_lift_that_lapsed_since_is_no_go_by_lift(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [3.0] * 24)
    Visit.objects.update(by="lift")
    call = say(farm)
    assert call.verdict.verdict == "no-go"
    assert any(reason.code == "gate" and "lift" in reason.text for reason in call.verdict.reasons)


def test_measured_wind_above_the_limit_stops_a_go(farm: rows.Farm, visit: Visit) -> None:
    forecast(farm, [3.0] * 24)
    start = rows.NOW - timedelta(hours=1)
    observed = series_of("wind", np.array([5.0] * 5 + [13.0]), start=start, step_min=10, height_m=100, averaging_min=10)
    weather_store(site=farm.hill, kind="observed", series=(observed,))
    Visit.objects.update(starts_at=rows.NOW)
    call = say(farm)
    assert call.verdict.verdict != "go"
    assert any(reason.code == "measured" for reason in call.verdict.reasons)


def test_without_a_plan_it_says_what_to_do(farm: rows.Farm) -> None:
    with pytest.raises(PlannerError, match="solve and publish a fortnight first"):
        morning(base=farm.north, day=rows.TODAY, now=rows.NOW)


def test_only_leads_and_planners_keep_calls(farm: rows.Farm, visit: Visit, viewer_user: User, lead_user: User) -> None:
    forecast(farm, [3.0] * 24)
    with pytest.raises(NotAllowedError):
        say(farm, by=viewer_user)
    assert not Call.objects.exists()
    say(farm, by=lead_user)
    assert Call.objects.get().by == lead_user


def test_the_cranes_own_limit_stops_a_go(farm: rows.Farm, visit: Visit) -> None:
    """5 m/s are calm for the tower's 12 m/s, not for a crane that may lift up to 4 m/s."""
    forecast(farm, [5.0] * 24)
    assert say(farm, record=False).verdict.verdict == "go"
    limits = LimitSet.objects.create(code="hook", name="Lifting")
    Limit.objects.create(limit_set=limits, quantity="wind", value=4)
    Equipment.objects.update(limit_set=limits)
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=Equipment.objects.get())
    call = say(farm, record=False)
    assert call.verdict.verdict == "no-go"
    assert call.verdict.binding is not None


def test_who_was_called_out_in_the_night_starts_later_and_who_is_not_hired_does_not_go(farm: rows.Farm, visit: Visit) -> None:
    """Home at 03:00 local (01:00 UTC), 11 h of rest: not before 12:00 UTC. Common practice, no source."""
    forecast(farm, [3.0] * 24)
    CallOut.objects.create(technician=farm.people["Ada"], ended_at=rows.NOW.replace(hour=1))
    call = say(farm, record=False)
    assert call.verdict.verdict != "go"
    assert call.first_start is None or call.first_start >= rows.NOW.replace(hour=12)
    CallOut.objects.all().delete()
    Technician.objects.filter(name="Ben").update(contractor=True)
    call = say(farm, record=False)
    assert call.verdict.verdict == "no-go"
    assert any("not hired for that day" in reason.text for reason in call.verdict.reasons)
