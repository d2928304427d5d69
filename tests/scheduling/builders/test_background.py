"""What stands behind a problem's verdicts: limits, absences and closed days, from the rows of the tiny farm."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.models import Equipment, Limit, LimitSet, ProcedureEquipment
from scheduling.bits import unpack_members
from scheduling.builders.background import background_of
from scheduling.fortnight.explain import NOTHING_KNOWN, Background, by_day, ways_in
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.models import Run, WeatherSet
from tests import farm as rows
from tests.scheduling.builders.conftest import steady, store
from tests.scheduling.builders.test_fortnight import build, find, raise_one


def behind(farm: rows.Farm, problem: Problem, *numbers: str, steps_for: str = "") -> Background:
    """The background of a run of that problem."""
    run = Run(base=farm.north, kind="fortnight", first_day=rows.TODAY, days=10, asked_at=rows.NOW, seed=1)
    return background_of(run, problem, orders=numbers, steps_for=steps_for)


def with_crane(farm: rows.Farm, wind: float) -> None:
    """The lamp asks for the crane, which has a wind limit of its own."""
    crane = Equipment.objects.get(name="crane")
    crane.limit_set = LimitSet.objects.create(code="lifting", name="Lifting")
    Limit.objects.create(limit_set=crane.limit_set, quantity="wind", comparison="<=", value=wind, averaging_min=10, at_hub=True)
    crane.always_there = True
    crane.save()
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=crane)


def test_the_limits_of_a_set_are_told_one_by_one(farm: rows.Farm) -> None:
    store(farm, steady(13.0))
    number = raise_one(farm, "lamp")
    problem = build(farm)
    window = find(problem, number).window
    tables = behind(farm, problem, number).limits[window]
    assert ("<=", 12.0, "m/s") in [(one.op, one.value, one.unit) for one in tables]
    together = np.logical_and.reduce([one.holds for one in tables])
    assert (together == unpack_members(problem.workable[window], problem.members, problem.total_slots)).all()
    text = by_day(problem, Plan((), ()), number, behind(farm, problem, number))
    assert "wind at hub above 12 m/s in " in text


def test_limits_that_have_changed_since_are_not_told(farm: rows.Farm) -> None:
    store(farm, steady(13.0))
    number = raise_one(farm, "lamp")
    problem = build(farm)
    LimitSet.objects.get(code="tower").limits.filter(quantity="wind").update(value=20)
    known = behind(farm, problem, number, steps_for=number)
    assert (known.limits, known.steps) == ({}, {})


def test_the_limits_of_equipment_are_told_and_raised_with_the_order_s_own(farm: rows.Farm) -> None:
    store(farm, steady(12.6))
    with_crane(farm, 12.0)
    number = raise_one(farm, "lamp")
    problem = build(farm)
    order = find(problem, number)
    known = behind(farm, problem, number, steps_for=number)
    assert set(known.limits) == {order.window, *order.also}
    assert set(known.steps) == {order.window, *order.also}
    assert all("(lifting)" in step.text for key in order.also for step in known.steps[key])
    assert not any("(lifting)" in step.text for step in known.steps[order.window])


def test_absences_and_certificates_are_told_without_their_cause(farm: rows.Farm, calm: WeatherSet) -> None:
    absent = behind(farm, build(farm)).absent
    assert absent["Cleo"][5] == "away until 2026-06-19"
    assert absent["Ada"] == {3: "not on shift", 4: "not on shift"}  # Saturday and Sunday
    assert absent["Dov"][0] == "heights: expired on 2026-05-31"


def test_closed_days_have_their_kind(farm: rows.Farm, calm: WeatherSet) -> None:
    motor, nest = raise_one(farm, "pitch-repair"), raise_one(farm, "pitch-repair", "h3")
    shut = behind(farm, build(farm), motor, nest).shut
    assert (shut[motor][0].kind, shut[motor][0].text) == ("part", "parts not before 2026-06-18")
    assert 8 not in shut[motor]
    assert shut[nest][0].kind == "several"
    assert "closed until" in shut[nest][0].text


def test_a_shut_gate_goes_before_all(farm: rows.Farm, calm: WeatherSet) -> None:
    farm.intervals["ladder-12"].done.update(done_on=rows.TODAY - timedelta(days=400))
    number = raise_one(farm, "lamp", "h3")
    assert {one.kind for one in behind(farm, build(farm), number).shut[number].values()} == {"gate"}


def test_where_the_rows_make_no_problem_any_more_nothing_is_told(farm: rows.Farm, calm: WeatherSet) -> None:
    problem = build(farm)
    calm.delete()
    assert behind(farm, problem) is NOTHING_KNOWN


@pytest.mark.parametrize("told", [True, False])
def test_only_raising_both_lets_the_order_in(farm: rows.Farm, told: bool) -> None:
    store(farm, steady(12.6))
    with_crane(farm, 12.0)
    LimitSet.objects.get(code="tower").limits.filter(quantity="gust").delete()
    number = raise_one(farm, "lamp")
    problem = build(farm)
    known = behind(farm, problem, number, steps_for=number if told else "")
    found = ways_in(problem, Plan((), (number,)), number, known, steps=2)
    limits = [way.text for way in found.ways if way.kind == "limit"]
    assert bool(limits) is told
    assert all("(lifting)" in text and ";" in text for text in limits)
