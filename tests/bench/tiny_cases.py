"""Random problems small enough to count out: 1 to 3 days of a few hourly slots, each rule tight in some of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from scheduling.bits import pack_members
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan
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
    PublishedVisit,
    Rules,
    Shift,
    Turbine,
    Vehicle,
)
from tests.bench.rule import rule_plan
from tests.bench.tiny_company import with_company
from tests.bench.tiny_ways import with_ways

MEMBERS = 4
SITES = ("hill", "shore")


def random_small(seed: int, max_orders: int = 6) -> Problem:
    """A seeded problem of at most `max_orders` orders; about half stand partly in an older plan, some are pinned there."""
    rng = np.random.default_rng([seed, 71])
    days, slots = int(rng.integers(1, 4)), int(rng.integers(5, 10))
    turbines = tuple(_turbine(rng, i, days) for i in range(int(rng.integers(2, 4))))
    people = tuple(_person(rng, i, days, slots) for i in range(int(rng.integers(3, 6))))
    orders = tuple(_order(rng, i, turbines, days) for i in range(int(rng.integers(1, max_orders + 1))))
    columns = days * slots
    problem = Problem(
        name=f"random small {seed}",
        origin="2026-03-28T00:00:00Z",
        slot_min=60,
        days=_days(rng, days, slots),
        base_x_km=0.0,
        base_y_km=0.0,
        speed_kmh=60.0,
        hop_fixed_min=int(rng.integers(0, 8)),
        turbines=turbines,
        people=people,
        vehicles=(Vehicle("van", 4), Vehicle("car", int(rng.integers(2, 4))))[: int(rng.integers(1, 3))],
        equipment=(Equipment("crane", "crane", 1, _some(rng, days, 0.8), 5_000),),
        orders=orders,
        members=MEMBERS,
        workable={key: _weather(rng, columns) for key in ("calm", "tight")},
        stop_mwh={"std": tuple(float(v) for v in rng.uniform(0.0, 3.0, columns))},
        night_mwh={"std": tuple(float(v) for v in rng.uniform(2.0, 20.0, days))},
        price_cents={site: tuple(int(v) for v in rng.integers(3_000, 9_000, columns)) for site in SITES},
        night_cents={site: tuple(int(v) for v in rng.integers(2_000, 6_000, days)) for site in SITES},
        rules=_rules(rng),
        **_pairs(rng, people),
    )
    problem = _with_past(rng, with_ways(seed, problem))
    return with_company(np.random.default_rng([seed, 73]), problem)


def _days(rng: np.random.Generator, days: int, slots: int) -> tuple[Day, ...]:
    """From 06:00 UTC, an hour earlier after the clock change; two weeks in some."""
    first = int(rng.integers(1, 3))
    return tuple(
        Day(f"2026-03-{28 + d}", 1440 * d + 360 - (60 if d else 0), slots, slots * d, f"2026-W{13 + (d >= first)}")
        for d in range(days)
    )


def _some(rng: np.random.Generator, days: int, share: float) -> tuple[int, ...]:
    return tuple(d for d in range(days) if rng.random() < share)


def _weather(rng: np.random.Generator, columns: int) -> str:
    return pack_members(rng.random((MEMBERS, columns)) < rng.choice([0.9, 0.96, 1.0]))


def _turbine(rng: np.random.Generator, number: int, days: int) -> Turbine:
    ways = (Access("lift", 10, 10), Access("lift", 20, 15), Access("ladder", 35, 30), Access("none", 0, 0))
    access = tuple(ways[int(rng.choice(4, p=[0.45, 0.3, 0.19, 0.06]))] for _ in range(days))
    x, y = (float(v) for v in rng.integers(3, 22, 2))
    return Turbine(f"T{number}", SITES[int(rng.random() < 0.3)], x, y, "std", access, feeder="F")


def _person(rng: np.random.Generator, number: int, days: int, slots: int) -> Person:
    every = tuple(range(days))
    shifts = tuple(
        Shift(d, int(rng.integers(0, 2)), slots - int(rng.integers(0, 2)), slots - int(rng.integers(1, 4)))
        for d in every
        if rng.random() < 0.92
    )
    return Person(
        id=f"p{number}",
        name=f"Person {number}",
        shifts=shifts,
        skills=(
            Held("electrical", int(rng.integers(1, 3)), every),
            *((Held("blades", 1, _some(rng, days, 0.7)),) * (number % 2)),
        ),
        fit_days=every if rng.random() < 0.8 else _some(rng, days, 0.7),
        rescue_days=every if rng.random() < 0.9 else _some(rng, days, 0.5),
        learner=bool(number == 4 and rng.random() < 0.4),
        week_left_min={"2026-W13": int(rng.integers(240, 700))} if rng.random() < 0.25 else {},
    )


def _order(rng: np.random.Generator, number: int, turbines: tuple[Turbine, ...], days: int) -> Order:
    turbine = turbines[int(rng.integers(0, len(turbines)))]
    opening = any(a.by == "none" for a in turbine.access) and rng.random() < 0.6
    stops = tuple(t.id for t in turbines) if rng.random() < 0.12 else (turbine.id,)
    more: dict[str, Any] = {"opens_climbing": True, "access": Access("ladder", 40, 35)} if opening else {}
    return Order(
        id=f"W{number}",
        turbine=turbine.id,
        modes=_modes(rng, days),
        needs=tuple(_needs(rng)),
        window=str(rng.choice(["calm", "tight"])),
        days=_some(rng, days, 0.92),
        due_day=int(rng.integers(-2, days + 1)),
        late_cost=int(rng.integers(0, 8_000)),
        left_out_cost=int(rng.integers(10_000, 200_000)),
        stops=stops,
        pack_min=int(rng.choice([0, 10])),
        equipment=("crane",) if rng.random() < 0.2 else (),
        stopped_between=bool(rng.random() < 0.4),
        max_gap_days=1 if rng.random() < 0.3 else None,
        after=(f"W{int(rng.integers(0, number))}",) if number and rng.random() < 0.15 else (),
        ride_along=not opening and bool(rng.random() < 0.8),
        **more,
    )


def _modes(rng: np.random.Generator, days: int) -> tuple[Mode, ...]:
    visits = 2 if days > 1 and rng.random() < 0.35 else 1
    two = Mode(2, tuple(int(m) for m in rng.integers(2, 9, visits) * 15))
    kind = rng.random()
    if kind < 0.2:
        return (two, Mode(3, (max(30, sum(two.visits_min) // 2),)))
    return (Mode(3, two.visits_min),) if kind < 0.3 else (two,)


def _needs(rng: np.random.Generator) -> list[Need]:
    needs = [Need("electrical", int(rng.integers(1, 3)), int(rng.integers(1, 3)))] if rng.random() < 0.4 else []
    return needs + ([Need("blades", 1, 1)] if rng.random() < 0.15 else [])


def _rules(rng: np.random.Generator) -> Rules:
    return Rules(
        confidence=float(rng.choice([0.5, 0.75, 1.0], p=[0.4, 0.4, 0.2])),
        rescue_pair=int(rng.choice([1, 2], p=[0.45, 0.55])),
        break_after_min=int(rng.choice([120, 240, 360], p=[0.15, 0.35, 0.5])),
        break_min=int(rng.choice([15, 30, 45])),
        rest_min=int(rng.choice([660, 1100, 1200])),
        week_max_min=int(rng.choice([400, 600, 2880], p=[0.15, 0.25, 0.6])),
        ladder_climbs_a_day=int(rng.integers(1, 3)),
        climbs_a_day=int(rng.integers(1, 4)),
        max_stopped={"hill": int(rng.integers(1, 3))} if rng.random() < 0.3 else {},
    )


def _pairs(rng: np.random.Generator, people: tuple[Person, ...]) -> dict[str, tuple[tuple[str, str], ...]]:
    a, b = (people[int(i)].id for i in rng.choice(len(people), 2, replace=False))
    kind = rng.random()
    return {"together": ((a, b),)} if kind < 0.15 else {"apart": ((a, b),)} if kind < 0.3 else {}


def _with_past(rng: np.random.Generator, problem: Problem) -> Problem:
    """Publish some visits of the rule of thumb's plan (moved or not), pin a few."""
    plan, kind = rule_plan(problem), rng.random()
    if kind < 0.5 or not plan.visits:
        return problem
    problem = replace(problem, published=tuple(_published(rng, problem, plan)))
    pinned = _pinned(rng, problem, plan)
    can_be_kept = not any(v.rule == "pin" for v in check(pinned, rule_plan(pinned)))
    return pinned if kind > 0.85 and can_be_kept else problem


def _published(rng: np.random.Generator, problem: Problem, plan: Plan) -> list[PublishedVisit]:
    found = []
    for visit in plan.visits:
        day = visit.day if rng.random() < 0.7 else int(rng.integers(0, len(problem.days)))
        for job in visit.jobs:
            found.append(PublishedVisit(job.order, job.visit, day, visit.start, visit.people, int(rng.integers(0, 20_000))))
    return found


def _pinned(rng: np.random.Generator, problem: Problem, plan: Plan) -> Problem:
    visit = plan.visits[int(rng.integers(0, len(plan.visits)))]
    job = visit.jobs[0]
    pins = ((job.visit, visit.day, visit.start),)
    return replace(problem, orders=tuple(replace(o, pins=pins) if o.id == job.order else o for o in problem.orders))
