"""Seeded cases: name and seed give the same problem always."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import product

import numpy as np

from scheduling.bits import pack_members
from scheduling.fortnight.problem import (
    Access,
    Day,
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
    Weights,
)
from tests.bench.wind import Wind, wind_of

WORK_START_MIN, WORK_MIN = 480, 480
"""Work from 08:00 to 16:00; the grid begins half a work day earlier and ends half a work day later, for the ways."""

RIDE_KM, SPEED_KMH = 239.5, 60.0
"""Places lie so far out, each in its own direction, that nobody works at two of them on one day."""

LIMITS_MPS = (10.0, 12.0, 15.0, 18.0)
SKILLS = ("electrical", "mechanical", "blades")
LOAD = {"regular": 0.6, "tight": 0.85}
"""Person-periods of the smallest modes against those of the people."""

CENTS_PER_MWH = 6000
FAR_MIN = 10**6


@dataclass(frozen=True)
class Shape:
    """How large a case is: `periods` is the horizon, `a_day` of them on each day."""

    tasks: int
    a_day: int
    periods: int
    skills: int
    crew: str

    @property
    def name(self) -> str:
        """Tasks, periods a day, horizon, skills, crew."""
        return f"{self.tasks}-{self.a_day}-{self.periods}-{self.skills}-{self.crew}"

    @property
    def days(self) -> int:
        """Days of the horizon."""
        return self.periods // self.a_day

    @property
    def slot_min(self) -> int:
        """Minutes of a period."""
        return WORK_MIN // self.a_day


SIZES = (
    *((20, 2, 10), (20, 2, 20), (20, 4, 20)),
    *((40, 2, 10), (40, 2, 20), (40, 4, 20), (40, 4, 40)),
    *((80, 2, 20), (80, 2, 40), (80, 4, 40)),
)
SHAPES = tuple(Shape(*size, skills, crew) for size, skills, crew in product(SIZES, (1, 3), LOAD))
SITES = {20: 3, 40: 4, 80: 6}
"""Other numbers of tasks (for tests) lie at two sites."""


def shortterm_case(shape: Shape, seed: int) -> Problem:
    """The case of this shape and seed."""
    rng = np.random.default_rng([seed, shape.tasks, shape.a_day, shape.periods, shape.skills, len(shape.crew)])
    sites = [f"site {i + 1}" for i in range(SITES.get(shape.tasks, 2))]
    wind = {site: wind_of(rng, shape.days, 1, mean_mps=float(rng.uniform(7.0, 9.0))) for site in sites}
    turbines = _turbines(rng, shape, sites)
    orders = _orders(rng, shape, turbines)
    people = _people(rng, shape, _people_asked(shape, orders))
    return Problem(
        name=f"{shape.name} {seed}",
        origin="2026-03-02T00:00:00Z",
        slot_min=shape.slot_min,
        days=tuple(_day(shape, d) for d in range(shape.days)),
        base_x_km=0.0,
        base_y_km=0.0,
        speed_kmh=SPEED_KMH,
        hop_fixed_min=0,
        turbines=turbines,
        people=people,
        vehicles=tuple(Vehicle(f"van {i + 1}", 4) for i in range(len(people) // 2)),
        equipment=(),
        orders=orders,
        members=1,
        **_series(shape, wind),
        rules=Rules(break_after_min=FAR_MIN, rest_min=0, week_max_min=FAR_MIN, climbs_a_day=9, ladder_climbs_a_day=9),
        weights=Weights(0, 0, 0, 0),
    )


def _day(shape: Shape, number: int) -> Day:
    day = date(2026, 3, 2) + timedelta(days=number)
    year, week, _ = day.isocalendar()
    start = 1440 * number + WORK_START_MIN - WORK_MIN // 2
    return Day(day.isoformat(), start, 2 * shape.a_day, 2 * shape.a_day * number, f"{year}-W{week:02}")


def _series(shape: Shape, wind: dict[str, Wind]) -> dict[str, dict[str, object]]:
    """Windows (by the mean wind of each period, never on the ways), energy and prices."""
    half_hours = shape.slot_min // 30
    first, last = (WORK_START_MIN - WORK_MIN // 2) // 30, (WORK_START_MIN + WORK_MIN + WORK_MIN // 2) // 30
    workable, stop, night = {}, {}, {}
    for site, w in wind.items():
        speed = w.speed_mps[0][:, first:last].reshape(shape.days, -1, half_hours).mean(axis=2)
        at_work = np.zeros(speed.shape, bool)
        at_work[:, shape.a_day // 2 : shape.a_day // 2 + shape.a_day] = True
        for limit in LIMITS_MPS:
            workable[f"{site} {limit:.0f}"] = pack_members(((speed <= limit) & at_work).reshape(1, -1))
        mwh = w.mwh(2.5)
        stop[site] = _floats(mwh[:, first:last].reshape(-1, half_hours).sum(axis=1))
        after = mwh[:, last:].sum(axis=1)
        after[:-1] += mwh[1:, :first].sum(axis=1)
        night[site] = _floats(after)
    return {
        "workable": workable,
        "stop_mwh": stop,
        "night_mwh": night,
        "price_cents": dict.fromkeys(wind, (CENTS_PER_MWH,) * (2 * shape.periods)),
        "night_cents": dict.fromkeys(wind, (CENTS_PER_MWH,) * shape.days),
    }


def _floats(values: np.ndarray) -> tuple[float, ...]:
    return tuple(round(float(v), 6) for v in values)


def _turbines(rng: np.random.Generator, shape: Shape, sites: list[str]) -> tuple[Turbine, ...]:
    """About two tasks to three turbines; the last site of a large case lies next to the first."""
    places = max(3, len(sites) - (len(sites) > 5))
    found = []
    for i in range(2 * shape.tasks // 3):
        site = int(rng.integers(len(sites)))
        angle = 2 * math.pi * (site % places) / places
        x, y = RIDE_KM * math.cos(angle), RIDE_KM * math.sin(angle)
        ways = (Access("lift", 0, 0),) * shape.days
        found.append(Turbine(f"T{i + 1:02}", sites[site], round(x, 3), round(y, 3), sites[site], ways))
    return tuple(found)


def _orders(rng: np.random.Generator, shape: Shape, turbines: tuple[Turbine, ...]) -> tuple[Order, ...]:
    return tuple(_order(rng, shape, i, turbines[int(rng.integers(len(turbines)))]) for i in range(shape.tasks))


def _order(rng: np.random.Generator, shape: Shape, number: int, turbine: Turbine) -> Order:
    """Up to two days of work by its smallest team; the penalty for postponing is dearer than the dearest standstill."""
    modes = _modes(rng, shape)
    least = min(mode.team for mode in modes)
    periods = max(sum(mode.visits_min) for mode in modes) / shape.slot_min / shape.a_day
    return Order(
        id=f"W{number + 1:03}",
        turbine=turbine.id,
        modes=modes,
        needs=(Need(SKILLS[int(rng.integers(shape.skills))], 1, least),),
        window=f"{turbine.site} {float(rng.choice(LIMITS_MPS)):.0f}",
        days=tuple(range(shape.days)),
        due_day=shape.days,
        late_cost=0,
        left_out_cost=int((1.0 + periods) * rng.integers(150_000, 400_000)),
        stops=(turbine.id,),
        stopped_between=bool(rng.random() < 0.7),
        max_gap_days=1,
        ride_along=False,
    )


def _modes(rng: np.random.Generator, shape: Shape) -> tuple[Mode, ...]:
    """One to three team sizes; more people need fewer periods, though not in proportion."""
    least = int(rng.choice([2, 2, 2, 3]))
    sizes = range(least, min(4, least + int(rng.integers(0, 3))) + 1)
    asked = least * int(rng.integers(1, 2 * shape.a_day + 1))
    found: dict[int, int] = {}
    for size in sizes:
        periods = math.ceil(asked / size * (1.0 + 0.1 * (size - least)))
        found.setdefault(periods, size)
    splits = ((size, visits) for periods, size in found.items() for visits in _splits(periods, shape.a_day))
    return tuple(Mode(size, tuple(shape.slot_min * n for n in visits)) for size, visits in splits)


def _splits(periods: int, a_day: int) -> list[tuple[int, ...]]:
    """The ways in which nights cut a task: any first part, whole days, the rest."""
    found = [(periods,)] if periods <= a_day else []
    for first in range(1, min(a_day, periods - 1) + 1):
        whole, rest = divmod(periods - first, a_day)
        found.append((first, *([a_day] * whole), *([rest] if rest else [])))
    return found


def _people_asked(shape: Shape, orders: tuple[Order, ...]) -> int:
    """How many people give the load of the crew; nine of ten are there on a day."""
    work = sum(min(m.team * sum(m.visits_min) for m in o.modes) for o in orders) / shape.slot_min
    return max(4, round(work / (LOAD[shape.crew] * 0.9 * shape.periods)))


def _people(rng: np.random.Generator, shape: Shape, count: int) -> tuple[Person, ...]:
    """Each is away one day in ten; with three skills everybody holds one, most hold more."""
    found = []
    for i in range(count):
        days = tuple(d for d in range(shape.days) if rng.random() < 0.9)
        held = {SKILLS[i % shape.skills], *(s for s in SKILLS[: shape.skills] if rng.random() < 0.4)}
        shifts = tuple(Shift(d, 0, 2 * shape.a_day, 2 * shape.a_day) for d in days)
        skills = tuple(Held(skill, 1, days) for skill in sorted(held))
        found.append(Person(f"p{i + 1:02}", f"Technician {i + 1}", shifts, skills, days, days))
    return tuple(found)
