"""The n-th row of every table, unsaved, for looking at lists with few and with many rows; and staff users."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Model
from django.test import Client

from planner import models as register
from scheduling import models as planning
from tests import page_rows
from tests.farm import CURVE, NOW, TODAY, Farm
from workorders import models as work

Maker = Callable[[Farm, int], Model]


def staff(user: User) -> Client:
    """A browser of the user, who may enter the admin site."""
    User.objects.filter(pk=user.pk).update(is_staff=True)
    return page_rows.client_of(User.objects.get(pk=user.pk))


def root(name: str = "root") -> User:
    """A superuser."""
    return User.objects.create_superuser(name, password="lull")


def day(n: int) -> date:
    """The n-th day of 2027."""
    return date(2027, 1, 1) + timedelta(days=n)


def an_order(farm: Farm) -> work.Order:
    """HILL-1, the same on every call."""
    return work.Order.objects.filter(number="HILL-1").first() or page_rows.build_order(farm.h1, farm)


def a_plan(farm: Farm) -> planning.Plan:
    """One plan, the same on every call."""
    return planning.Plan.objects.first() or page_rows.build_plan(farm)


def a_visit(farm: Farm) -> planning.Visit:
    """One visit, the same on every call."""
    return planning.Visit.objects.first() or page_rows.build_visit(a_plan(farm), farm, an_order(farm))


def a_round(farm: Farm) -> planning.Round:
    """One round, the same on every call."""
    return planning.Round.objects.first() or page_rows.build_round(farm, weeks=4)


def a_forecast(farm: Farm) -> planning.WeatherSet:
    """One forecast, the same on every call."""
    return planning.WeatherSet.objects.first() or page_rows.build_forecast(farm.hill)


def _site(farm: Farm, n: int) -> Model:
    return register.Site(
        code=f"S{n}", name=f"Site {n}", base=farm.north, rule_set=farm.hill.rule_set, time_zone="Europe/Berlin", country="DE",
        currency="EUR", price_per_mwh=60, latitude=54, longitude=9,
    )  # fmt: skip


def _turbine(farm: Farm, n: int) -> Model:
    return register.Turbine(
        site=farm.hill, code=f"T{n}", type=farm.h1.type, latitude=54, longitude=9, hub_height_m=100, commissioned_on=TODAY
    )


def _turbine_wind(farm: Farm, n: int) -> Model:
    turbine: Any = _turbine(farm, n)
    turbine.save()
    return planning.TurbineWind(turbine=turbine, factor=1.1, offset_mps=0.2, pairs=n, rest_mps=0.9, fitted_at=NOW)


def _procedure(farm: Farm, n: int) -> Model:
    return register.Procedure(
        code=f"p{n}", name=f"Procedure {n}", kind="service", effort_person_h=8, limit_set=farm.procedures["oil"].limit_set
    )


def _interval(farm: Farm, n: int) -> Model:
    return register.Interval(code=f"i{n}", procedure=farm.procedures["lamp"], scope="turbine", turbine=farm.h1, every=6)


def _order(farm: Farm, n: int) -> Model:
    return work.Order(
        number=f"HILL-{n + 100}", turbine=farm.h1, component=farm.blades[0], procedure=farm.procedures["lamp"], origin="hand",
        klass="minor", due_on=day(n), effort_left_h=2,
    )  # fmt: skip


def _visit(farm: Farm, n: int) -> Model:
    start = datetime.combine(day(n), time(8), tzinfo=UTC)
    end = start + timedelta(hours=3)
    return planning.Visit(
        plan=a_plan(farm), turbine=farm.h1, vehicle=register.Vehicle.objects.first(), day=day(n), starts_at=start, ends_at=end,
        down_by=end, chance=0.9, by="lift",
    )  # fmt: skip


def _weather(farm: Farm, n: int) -> Model:
    return planning.WeatherSet(
        site=farm.hill, kind="observed", starts_at=NOW, ends_at=NOW + timedelta(hours=1), step_min=60, about={"series": []},
        data=b"bulk", digest=str(n),
    )  # fmt: skip


def _run(farm: Farm, n: int) -> planning.Run:
    return planning.Run(base=farm.north, kind="fortnight", state="done", first_day=day(n), days=14, problem={"bulk": n})


def _plan(farm: Farm, n: int) -> Model:
    run = _run(farm, n)
    run.save()
    return planning.Plan(base=farm.north, run=run, first_day=day(n), last_day=day(n + 13), value=1, bound=1, state="superseded")


def _round(farm: Farm, n: int) -> Model:
    run = _run(farm, n)
    run.save()
    return planning.Round(base=farm.north, run=run, first_day=day(n), last_day=day(n + 360))


def _item(farm: Farm, n: int) -> Model:
    return planning.RoundItem(
        round=a_round(farm), turbine=farm.h1, component=farm.blades[0], interval=farm.intervals["blade-24"], due_on=day(n),
        closes_on=day(n), week=day(n),
    )  # fmt: skip


def _link(farm: Farm, n: int) -> Model:
    order: Any = _order(farm, n)
    order.save()
    return work.OrderLink(earlier=order, later=an_order(farm))


def _job(farm: Farm, n: int) -> Model:
    order: Any = _order(farm, n)
    order.save()
    return planning.VisitJob(visit=a_visit(farm), order=order, work_min=60)


def _call(farm: Farm, n: int) -> Model:
    said_at = NOW + timedelta(minutes=n)
    return planning.Call(visit=a_visit(farm), verdict="wait", said_at=said_at, forecast=a_forecast(farm), first_start=NOW)


def _stay_call(farm: Farm, n: int) -> Model:
    visit = a_visit(farm)
    return planning.StayCall(
        visit=visit, site=farm.hill, forecast=a_forecast(farm), issued_at=NOW - timedelta(hours=n), starts_at=visit.starts_at,
        ends_at=visit.ends_at, lead_h=n, chance=0.9, go=True, limits=["tower"],
    )  # fmt: skip


def _membership(farm: Farm, n: int) -> Model:
    return register.Membership(user=User.objects.create(username=f"user{n}"), site=farm.hill, role="viewer")


def _procedure_row(model: type[Model], name: str, **more: Any) -> Maker:
    """Rows that hang on a procedure, each on one of its own."""

    def make(farm: Farm, n: int) -> Model:
        procedure: Any = _procedure(farm, n)
        procedure.save()
        there = {key: value() for key, value in more.items()}
        return model(**{"procedure": procedure, **there})

    make.__name__ = name
    return make


def _first(model: type[Model]) -> Callable[[], Model | None]:
    return lambda: model._default_manager.first()


def _limit(farm: Farm, n: int) -> Model:
    limits = register.LimitSet.objects.create(code=f"set{n}", name=f"Set {n}")
    return register.Limit(limit_set=limits, quantity="wind", value=11)


def _step(farm: Farm, n: int) -> Model:
    return register.Step(procedure=farm.procedures["oil"], number=n + 10, kind="tick", text=f"Step {n}")


def _held(farm: Farm, n: int) -> Model:
    skill = register.Skill.objects.create(code=f"held{n}", name=f"Held {n}")
    return register.HeldSkill(technician=farm.people["Ada"], skill=skill, level=1)


def _result(farm: Farm, n: int) -> Model:
    step: Any = _step(farm, n + 1000)
    step.save()
    return work.StepResult(order=an_order(farm), step=step, text="done", at=NOW, by=User.objects.first())


def _certificate(farm: Farm, n: int) -> Model:
    kind = register.CertificateKind.objects.first()
    return register.Certificate(technician=farm.people["Ada"], kind=kind, issued_on=day(n), valid_until=day(900))


def _work_done(farm: Farm, n: int) -> Model:
    return register.WorkDone(
        interval=farm.intervals["blade-24"],
        turbine=farm.h1,
        component=farm.blades[0],
        done_on=date(2020, 1, 1) + timedelta(days=n),
    )


def _technician(farm: Farm, n: int) -> Model:
    return register.Technician(name=f"Person {n}", base=farm.north, shift_pattern=register.ShiftPattern.objects.get(name="week"))


def _another(farm: Farm, n: int) -> register.Technician:
    person: Any = _technician(farm, n + 5000)
    person.save()
    return person  # type: ignore[no-any-return]


def _finding(farm: Farm, n: int) -> Model:
    return work.Finding(order=an_order(farm), component=farm.blades[0], severity="stop now", text=f"crack {n}", found_on=day(n))


def _what_if(farm: Farm, n: int) -> Model:
    return planning.WhatIf(
        base=farm.north, name=f"question {n}", first_day=day(n), days=14, problem={"bulk": n}, created_at=NOW + timedelta(hours=n)
    )


MAKERS: dict[type[Model], Maker] = {
    register.RuleSet: lambda farm, n: register.RuleSet(name=f"rules {n}"),
    register.Base: lambda farm, n: register.Base(name=f"Base {n}", latitude=50, longitude=8, time_zone="Europe/Berlin"),
    register.Site: _site,
    register.Membership: _membership,
    register.TurbineType: lambda farm, n: register.TurbineType(
        name=f"Type {n}", rotor_diameter_m=100, rated_kw=3000, power_curve=CURVE
    ),
    register.Turbine: _turbine,
    register.ComponentKind: lambda farm, n: register.ComponentKind(code=f"kind{n}", name=f"kind {n}"),
    register.Component: lambda farm, n: register.Component(
        turbine=farm.h2, kind=farm.blades[0].kind, parent=farm.blades[0].parent, position=n + 1, of=200
    ),
    register.CounterReading: lambda farm, n: register.CounterReading(
        turbine=farm.h1, counter="cycles", read_on=day(n), value=n
    ),
    register.Skill: lambda farm, n: register.Skill(code=f"skill{n}", name=f"skill {n}"),
    register.CertificateKind: lambda farm, n: register.CertificateKind(
        code=f"cert{n}", name=f"cert {n}", for_skill=register.Skill.objects.first()
    ),
    register.ShiftPattern: lambda farm, n: register.ShiftPattern(
        name=f"shift {n}", weekdays=[1, 2], start=time(7), end=time(15)
    ),
    register.Technician: _technician,
    register.HeldSkill: _held,
    register.Certificate: _certificate,
    register.Absence: lambda farm, n: register.Absence(technician=farm.people["Ada"], first_day=day(n), last_day=day(n)),
    register.Pair: lambda farm, n: register.Pair(first=farm.people["Ada"], second=_another(farm, n), kind="gladly"),
    register.HirePeriod: lambda farm, n: register.HirePeriod(technician=farm.people["Ada"], first_day=day(n), last_day=day(n)),
    register.OnCall: lambda farm, n: register.OnCall(technician=farm.people["Ada"], first_day=day(n), last_day=day(n)),
    register.CallOut: lambda farm, n: register.CallOut(technician=farm.people["Ada"], ended_at=NOW + timedelta(hours=n)),
    register.Lodging: lambda farm, n: register.Lodging(name=f"inn {n}", base=farm.north, latitude=54, longitude=9),
    register.LimitSet: lambda farm, n: register.LimitSet(code=f"limits{n}", name=f"Limits {n}"),
    register.Limit: _limit,
    register.Procedure: _procedure,
    register.Step: _step,
    register.ProcedureSkill: _procedure_row(register.ProcedureSkill, "skill need", skill=_first(register.Skill)),
    register.ProcedurePart: _procedure_row(register.ProcedurePart, "part need", part=_first(register.Part)),
    register.ProcedureEquipment: _procedure_row(
        register.ProcedureEquipment, "equipment need", equipment=_first(register.Equipment)
    ),
    register.Interval: _interval,
    register.WorkDone: _work_done,
    register.Equipment: lambda farm, n: register.Equipment(name=f"platform {n}", kind="platform", base=farm.north),
    register.EquipmentBooking: lambda farm, n: register.EquipmentBooking(
        equipment=register.Equipment.objects.get(name="crane"), first_day=day(n), last_day=day(n)
    ),
    register.Vehicle: lambda farm, n: register.Vehicle(name=f"car {n}", base=farm.north),
    register.Part: lambda farm, n: register.Part(code=f"part{n}", name=f"part {n}"),
    register.PartDelivery: lambda farm, n: register.PartDelivery(
        part=register.Part.objects.get(code="motor"), quantity=1, expected_on=day(n)
    ),
    register.Closure: lambda farm, n: register.Closure(
        site=farm.hill, turbine=farm.h1, kind="birds", reason=f"nest {n}", first_day=day(n), last_day=day(n)
    ),
    work.Order: _order,
    work.OrderLink: _link,
    work.Hold: lambda farm, n: work.Hold(order=an_order(farm), kind="parts", reason=f"bolt {n}", since=day(n)),
    work.OrderMove: lambda farm, n: work.OrderMove(
        order=an_order(farm), name="prepare", source="raised", target="prepared", at=NOW, by=User.objects.first()
    ),
    work.StepResult: _result,
    work.Finding: _finding,
    planning.WeatherFeed: lambda farm, n: planning.WeatherFeed(site=farm.hill, name=f"feed {n}", recipe={}),
    planning.WeatherSet: _weather,
    planning.ErrorFit: lambda farm, n: planning.ErrorFit(
        site=farm.hill, fitted_at=NOW, first_issue=NOW, last_issue=NOW, forecasts=n, pairs=n, model={}
    ),
    planning.Run: _run,
    planning.Fleet: lambda farm, n: planning.Fleet(first_day=day(n), days=14, state="done", text=f"{n}.", outcome={"bulk": n}),
    planning.Plan: _plan,
    planning.PlanQuestion: lambda farm, n: planning.PlanQuestion(
        plan=a_plan(farm), kind="ways in", order_number=f"HILL-{n}", state="answered", answer={"ways": []}, beat_at=NOW
    ),
    planning.Visit: _visit,
    planning.VisitJob: _job,
    planning.Round: _round,
    planning.RoundItem: _item,
    planning.Call: _call,
    planning.StayCall: _stay_call,
    planning.TurbineWind: _turbine_wind,
    planning.WhatIf: _what_if,
    planning.Lock: lambda farm, n: planning.Lock(
        base=farm.north, order=an_order(farm), kind="day", first_day=day(n), last_day=day(n), made_at=NOW + timedelta(hours=n)
    ),
    planning.FrozenDay: lambda farm, n: planning.FrozenDay(base=farm.north, day=day(n), made_at=NOW + timedelta(hours=n)),
}  # fmt: skip


def grow(farm: Farm, model: type[Model], first: int, count: int) -> list[Model]:
    """Rows number `first` and on, written at once (without history)."""
    rows = [MAKERS[model](farm, n) for n in range(first, first + count)]
    made = model._default_manager.bulk_create(rows)
    if model is planning.Visit:
        people = planning.Visit.people.through
        people.objects.bulk_create(people(visit_id=row.pk, technician_id=farm.people["Ada"].pk) for row in made)
    if model is planning.Fleet:
        runs = [_run(farm, n) for n in range(first, first + count)]
        for run, fleet in zip(runs, made, strict=True):
            run.fleet = fleet
        planning.Run.objects.bulk_create(runs)
    return made
