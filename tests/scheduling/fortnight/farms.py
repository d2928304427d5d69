"""A tiny farm held in the head: 3 turbines, 4 people, 5 orders, 3 days. No randomness; variants by `replace`.

Grid: slots of 30 minutes, 20 a day from 07:00 to 17:00 UTC, Monday to Wednesday 2 to 4 March 2026.
Roads from base at 60 km/h and 5 minutes fixed: T1 15 min, T2 25 min, T3 30 min; T1-T2 15 min.
Weather, 4 members: all calm, but on day 1 one of four is windy from slot 12 and all from slot 16, on day 2 all in slots 0-3.
A stopped turbine loses 0.5 MWh a slot and 4 MWh a night at 60 EUR/MWh: 3,000 cents a slot, 24,000 a night.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.bits import pack_members
from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import (
    Access,
    Day,
    Equipment,
    Held,
    Mode,
    Need,
    Order,
    Person,
    Problem,
    Rules,
    Shift,
    Turbine,
    Vehicle,
)

SLOTS, DAYS, MEMBERS = 20, 3, 4
ALL_DAYS = (0, 1, 2)
LIFT = Access("lift", 15, 15)
LADDER = Access("ladder", 30, 30)
NONE = Access("none", 0, 0)


def calm() -> NDArray[np.bool_]:
    """The weather of the docstring: bool [4 members, 60 slots]."""
    table = np.ones((MEMBERS, SLOTS * DAYS), dtype=bool)
    table[0, SLOTS + 12 : 2 * SLOTS] = False
    table[:, SLOTS + 16 : 2 * SLOTS] = False
    table[:, 2 * SLOTS : 2 * SLOTS + 4] = False
    return table


def days() -> tuple[Day, ...]:
    """Monday to Wednesday, 07:00 to 17:00 UTC."""
    return tuple(Day(f"2026-03-0{2 + d}", 1440 * d + 420, SLOTS, SLOTS * d, "2026-W10") for d in ALL_DAYS)


def turbine(name: str, x_km: float, y_km: float, access: Access = LIFT) -> Turbine:
    """A turbine of the site "hill" on feeder F1."""
    return Turbine(name, "hill", x_km, y_km, "std", (access,) * DAYS, feeder="F1")


def person(name: str, *skills: tuple[str, int], on: tuple[int, ...] = ALL_DAYS, **more: Any) -> Person:
    """Fit and rescue-capable on all days, on shift 07:00-17:00 on the days `on`, overtime from 15:00."""
    shifts = tuple(Shift(day, 0, SLOTS, 16) for day in on)
    held = tuple(Held(skill, level, ALL_DAYS) for skill, level in skills)
    return Person(name.lower(), name, shifts, held, **{"fit_days": ALL_DAYS, "rescue_days": ALL_DAYS, **more})


def order(name: str, on: str, *modes: tuple[int, tuple[int, ...]], **more: Any) -> Order:
    """An order that stops its own turbine; 100 EUR a day late, 5,000 EUR if left out."""
    fields: dict[str, Any] = {
        "needs": (),
        "window": "calm",
        "days": ALL_DAYS,
        "due_day": 2,
        "late_cost": 10_000,
        "left_out_cost": 500_000,
        "stops": (on,),
    }
    return Order(name, on, tuple(Mode(team, visits) for team, visits in modes), **{**fields, **more})


def orders() -> tuple[Order, ...]:
    """Service in one or two visits, a late repair, crane work on day 1, an inspection that waits, a feeder isolation."""
    return (
        order("service", "T1", (2, (210, 150)), (3, (300,)), due_day=1, stopped_between=True, max_gap_days=2),
        order("repair", "T2", (2, (120,)), needs=(Need("electrical", 2, 1),), due_day=-1),
        order("crane work", "T3", (3, (180,)), equipment=("crane",)),
        order("inspection", "T1", (2, (60,)), days=(1, 2)),
        order("feeder", "T2", (2, (60,)), stops=("T1", "T2"), needs=(Need("high voltage", 1, 2),)),
    )


def tiny() -> Problem:
    """The tiny farm."""
    return Problem(
        name="tiny",
        origin="2026-03-02T00:00:00Z",
        slot_min=30,
        days=days(),
        base_x_km=0.0,
        base_y_km=0.0,
        speed_kmh=60.0,
        hop_fixed_min=5,
        turbines=(turbine("T1", 10.0, 0.0), turbine("T2", 20.0, 0.0), turbine("T3", 0.0, 25.0, LADDER)),
        people=(
            person("Ann", ("electrical", 2), ("high voltage", 1)),
            person("Ben", ("electrical", 1), ("high voltage", 1)),
            person("Cem", ("electrical", 1)),
            person("Dia", ("electrical", 1), on=(0, 1)),
        ),
        vehicles=(Vehicle("van", 4), Vehicle("car", 2)),
        equipment=(Equipment("crane", "crane", 1, (1,), day_cost=80_000),),
        orders=orders(),
        members=MEMBERS,
        workable={"calm": pack_members(calm())},
        stop_mwh={"std": (0.5,) * (SLOTS * DAYS)},
        night_mwh={"std": (4.0,) * DAYS},
        price_cents={"hill": (6000,) * (SLOTS * DAYS)},
        night_cents={"hill": (6000,) * DAYS},
        rules=Rules(confidence=0.75),
    )


def hand_plan() -> Plan:
    """All five orders, by hand; its money is counted in test_check.py.

    Mon  Ann, Ben (van)       T2 slots 1-8   repair, feeder riding along (stops T1 too)
    Mon  Cem, Dia (car)       T1 slots 8-16  service, first visit (T1 then stays stopped until Wednesday)
    Tue  Ann, Ben, Cem (van)  T3 slots 5-13  crane work, chance 3 of 4
    Wed  Ann, Cem (car)       T1 slots 5-13  service, second visit, inspection riding along
    """
    visits = (
        Visit("T2", 0, 1, 7, 0, (job("repair", 120), job("feeder", 60)), ("ann", "ben"), "van", 1.0, "lift"),
        Visit("T1", 0, 8, 8, 1, (job("service", 210),), ("cem", "dia"), "car", 1.0, "lift"),
        Visit("T3", 1, 5, 8, 0, (job("crane work", 180),), ("ann", "ben", "cem"), "van", 0.75, "ladder"),
        Visit("T1", 2, 5, 8, 0, (job("service", 150, 1), job("inspection", 60)), ("ann", "cem"), "car", 1.0, "lift"),
    )
    return priced(tiny(), Plan(visits, ()))


def with_visit(problem: Problem, plan: Plan, number: int, **changes: Any) -> Plan:
    """The plan with other fields in one visit, priced again."""
    visits = tuple(replace(v, **changes) if i == number else v for i, v in enumerate(plan.visits))
    return priced(problem, replace(plan, visits=visits))


def with_orders(problem: Problem, **changes: dict[str, Any]) -> Problem:
    """A copy in which the orders named (blanks as underscores) have other fields."""
    return replace(problem, orders=tuple(replace(o, **changes.get(o.id.replace(" ", "_"), {})) for o in problem.orders))


def with_people(problem: Problem, **changes: dict[str, Any]) -> Problem:
    """A copy in which the people named have other fields."""
    return replace(problem, people=tuple(replace(p, **changes.get(p.id, {})) for p in problem.people))


def with_rules(problem: Problem, **changes: Any) -> Problem:
    """A copy with other numbers in its rules."""
    return replace(problem, rules=replace(problem.rules, **changes))


def priced(problem: Problem, plan: Plan) -> Plan:
    """The plan with its parts counted, for plans built by hand."""
    return replace(plan, parts=recompute_parts(problem, plan))


def job(name: str, work_min: int, visit: int = 0) -> Job:
    """A job, its visit number last."""
    return Job(name, visit, work_min)
