"""A fortnight's problem of base North small enough for the head, with rows behind it, a plan by hand, and solvers that obey.

Two days, Wednesday 10 and Thursday 11 June 2026, 08:00 to 16:00 local (06:00 UTC), slots of 30 minutes. Two orders of one visit
of two hours each: W-1 on H1 and W-2 on H2. Ada and Ben go; the road to either turbine takes 20 minutes, the lift 10.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduling.bits import pack_members
from scheduling.fortnight import check as checking
from scheduling.fortnight import plan as plans
from scheduling.fortnight import problem as problems
from scheduling.fortnight.plan import Job, Plan, Result, Visit
from scheduling.fortnight.problem import Access, Day, Mode, Order, Person, Problem, Shift, Turbine, Vehicle
from scheduling.models import Run, WeatherSet
from scheduling.services.weather import weather_store
from scheduling.solvers import Limits, OnStep, ShouldStop, Solver, Step
from scheduling.weather.series import series_of
from tests.farm import NOW, Farm
from workorders.models import Order as OrderRow

FIRST = date(2026, 6, 10)
SLOTS, DAYS = 16, 2
BOTH = (0, 1)


def problem() -> Problem:
    """The problem of the docstring."""
    lift = (Access("lift", 10, 10),) * DAYS
    return Problem(
        name="North from 2026-06-10",
        origin="2026-06-09T22:00:00+00:00",
        slot_min=30,
        days=tuple(Day(f"2026-06-{10 + d}", 480 + 1440 * d, SLOTS, SLOTS * d, "2026-W24") for d in BOTH),
        base_x_km=0.0,
        base_y_km=0.0,
        speed_kmh=60.0,
        hop_fixed_min=10,
        turbines=tuple(Turbine(f"HILL {code}", "HILL", x_km, 0.0, "std", lift) for code, x_km in (("H1", 10.0), ("H2", -10.0))),
        people=tuple(_person(name) for name in ("Ada", "Ben")),
        vehicles=(Vehicle("van 1", 3),),
        equipment=(),
        orders=(order("W-1", "HILL H1"), order("W-2", "HILL H2")),
        members=2,
        workable={"calm": pack_members(np.ones((2, SLOTS * DAYS), dtype=bool))},
        stop_mwh={"std": (0.5,) * (SLOTS * DAYS)},
        night_mwh={"std": (4.0,) * DAYS},
        price_cents={"HILL": (6000,) * (SLOTS * DAYS)},
        night_cents={"HILL": (6000,) * DAYS},
    )


def _person(name: str) -> Person:
    return Person(name, name, tuple(Shift(day, 0, SLOTS, SLOTS) for day in BOTH), (), BOTH, BOTH)


def order(number: str, turbine: str, work_min: int = 120) -> Order:
    """An order of one visit of two people."""
    return Order(number, turbine, (Mode(2, (work_min,)),), (), "calm", BOTH, 1, 10_000, 500_000, (turbine,), label=number)


def visit(number: str, turbine: str, day: int, start: int = 1) -> Visit:
    """The stay of an order: 10 up, 120, 10 down = 140 minutes = 5 slots."""
    return Visit(turbine, day, start, 5, 2, (Job(number, 0, 120),), ("Ada", "Ben"), "van 1", 1.0, "lift")


def plan(*visits: Visit, left_out: tuple[str, ...] = ()) -> Plan:
    """The plan with its parts counted."""
    bare = Plan(visits, left_out)
    return replace(bare, parts=checking.recompute_parts(problem(), bare))


def good_plan() -> Plan:
    """W-1 on Wednesday, W-2 on Thursday."""
    return plan(visit("W-1", "HILL H1", 0), visit("W-2", "HILL H2", 1))


def half_plan() -> Plan:
    """W-1 on Wednesday, W-2 left out."""
    return plan(visit("W-1", "HILL H1", 0), left_out=("W-2",))


def no_plan() -> Plan:
    """What a solver gives that found nothing."""
    return Plan((), ("W-1", "W-2"))


def result(made: Plan, status: str = "optimal", text: str = "") -> Result:
    """A result with its bound at its value."""
    return Result(status, text, made, float(made.value), 0.5, ((0.5, made.value, float(made.value)),), {"hand": "1"})


Solve = Callable[[Any, Limits, OnStep, ShouldStop], Result]


def solver(solve: Solve) -> Callable[[], Solver]:
    """An entry of the table of solvers that reads, writes and checks like the fortnight's."""
    made = Solver(problems.problem_from_json, solve, plans.plan_to_json, plans.plan_from_json, checking.check)
    return lambda: made


def gives(made: Result) -> Callable[[], Solver]:
    """A solver that gives this result at once."""
    return solver(lambda *_: made)


@dataclass
class Slow:
    """A solver that shows a plan, then works until it is told to stop or to end; `began` is set when it has shown it."""

    first: Plan
    last: Result
    most_s: float = 20.0

    def __post_init__(self) -> None:
        self.began, self.end = threading.Event(), threading.Event()

    def solve(self, task: Any, limits: Limits, on_step: OnStep, should_stop: ShouldStop) -> Result:
        """See the class."""
        on_step(Step(0.1, self.first.value, 0.0, self.first))
        self.began.set()
        deadline = time.perf_counter() + self.most_s
        while not self.end.wait(0.05) and time.perf_counter() < deadline:
            if should_stop():
                return replace(result(self.first, "stopped"), bound=0.0)
        return self.last


def orders(farm: Farm) -> Iterator[OrderRow]:
    """W-1 and W-2 as rows, prepared."""
    for number, turbine in (("W-1", farm.h1), ("W-2", farm.h2)):
        yield OrderRow.objects.create(
            number=number,
            turbine=turbine,
            procedure=farm.procedures["lamp"],
            origin="hand",
            klass="minor",
            state="prepared",
            due_on=date(2026, 6, 11),
            effort_left_h=4,
        )


def ready(farm: Farm, mps: float = 4.0, issued_h: float = 5.0) -> None:
    """What the plan by hand takes for granted: the lift of H1 inspected last autumn, and a calm forecast."""
    farm.intervals["lift-12"].done.filter(turbine=farm.h1).update(done_on=date(2025, 9, 1))
    forecast(farm, mps, issued_h)


def forecast(farm: Farm, mps: float, issued_h: float = 1.0) -> WeatherSet:
    """Four days of one wind at HILL from the midnight before NOW on, issued so many hours before NOW."""
    start = NOW.replace(hour=0)
    wind = series_of("wind", np.full(96, mps), start=start, step_min=60, height_m=100, averaging_min=10)
    issued = NOW - timedelta(hours=issued_h)
    return weather_store(site=farm.hill, kind="forecast", series=(wind,), issued_at=issued)[0]


def stored_problem() -> dict[str, Any]:
    """The problem as a run stores it."""
    return problems.problem_to_json(problem())


def run(farm: Farm, **more: Any) -> Run:
    """A queued run of the problem."""
    fields: dict[str, Any] = {
        "base": farm.north,
        "kind": "fortnight",
        "first_day": FIRST,
        "days": DAYS,
        "problem": stored_problem(),
        "params": {"time_limit_s": 20.0, "gap": 0.01},
    }
    return Run.objects.create(**{**fields, **more})
