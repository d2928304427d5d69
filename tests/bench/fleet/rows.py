"""Bases with the rows that a generated fortnight needs to be drafted: 30 turbines, 8 people and 60 orders each."""

from __future__ import annotations

from datetime import date, time
from typing import Any

from planner.models import Base, LimitSet, Procedure, RuleSet, ShiftPattern, Site, Technician, Turbine, TurbineType, Vehicle
from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Fleet, Run
from tests.bench.cases import fortnight_case
from workorders.models import Order

FIRST, DAYS = date(2026, 3, 2), 10
"""The days of the generated small case."""


def own(problem: Any, prefix: str) -> Any:
    """The problem (as JSON) with people, vehicles and orders named for their base: the register knows each name once."""
    names = {one["id"] for kind in ("people", "vehicles", "orders") for one in problem[kind]}

    def walk(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: walk(item) for key, item in value.items()}
        if isinstance(value, list | tuple):
            return [walk(item) for item in value]
        return f"{prefix} {value}" if isinstance(value, str) and value in names else value

    return walk(problem)


def lay(count: int, seed: int) -> dict[int, Any]:
    """Bases S001, S002 and on with their rows; base pk -> its problem. Case n has seed `seed` + n."""
    rules = RuleSet.objects.create(name="bench")
    week = ShiftPattern.objects.create(name="week", weekdays=[1, 2, 3, 4, 5], start=time(7), end=time(16))
    limits = LimitSet.objects.create(code="tower", name="Inside the tower")
    work = Procedure.objects.create(code="job", name="Job", kind="service", effort_person_h=8, limit_set=limits)
    kind = TurbineType.objects.create(name="Tall", rotor_diameter_m=110, rated_kw=3000, power_curve=[[3, 0], [12, 3000]])
    return dict(_base(n, seed, rules, week, work, kind) for n in range(1, count + 1))


def _base(
    number: int, seed: int, rules: RuleSet, week: ShiftPattern, work: Procedure, kind: TurbineType
) -> tuple[int, dict[str, Any]]:
    code = f"S{number:03}"
    problem = own(problem_to_json(fortnight_case("small", seed + number)), code)
    base = Base.objects.create(name=code, latitude=54, longitude=9, time_zone="UTC")
    site = Site.objects.create(
        code=code, name=code, base=base, rule_set=rules, time_zone="UTC", country="DE", currency="EUR", price_per_mwh=60,
        latitude=54, longitude=9,
    )  # fmt: skip
    turbines = Turbine.objects.bulk_create(
        Turbine(
            site=site, code=one["id"], type=kind, latitude=54, longitude=9, hub_height_m=100, commissioned_on=date(2016, 3, 1)
        )
        for one in problem["turbines"]
    )
    Technician.objects.bulk_create(Technician(name=one["id"], base=base, shift_pattern=week) for one in problem["people"])
    Vehicle.objects.bulk_create(Vehicle(name=one["id"], base=base, seats=one["seats"]) for one in problem["vehicles"])
    at = {turbine.code: turbine for turbine in turbines}
    Order.objects.bulk_create(
        Order(
            number=one["id"], turbine=at[one["turbine"]], procedure=work, origin="hand", klass="service", state="prepared",
            due_on=FIRST, effort_left_h=8,
        )
        for one in problem["orders"]
    )  # fmt: skip
    return base.pk, problem


def freeze(fleet: Fleet, problems: dict[int, Any]) -> None:
    """Give each part its generated problem, as if a worker had built it from rows."""
    for run in Run.objects.filter(fleet=fleet).only("pk", "base_id"):
        Run.objects.filter(pk=run.pk).update(problem=problems[run.base_id])
