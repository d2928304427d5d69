"""Seeded fortnights to measure with, and very small ones to count out. Same size and seed: the same problem."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from scheduling.bits import pack_members
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
from tests.bench.tiny_cases import random_small
from tests.bench.wind import LIMITS_MPS, Wind, wind_of

SLOT_MIN, DAY_SLOTS, DAY_START_MIN = 30, 28, 360
"""Half hours from 06:00 to 20:00."""

FEEDER = 5
"""Turbines on one string."""

LIFT, SLOW_LIFT, LADDER = Access("lift", 15, 12), Access("lift", 20, 15), Access("ladder", 35, 25)
SKILLS = ("electrical", "hydraulics", "blades", "high voltage", "crane lead")


@dataclass(frozen=True)
class Size:
    """How large a case is."""

    turbines: int
    orders: int
    people: int
    days: int
    members: int
    vehicles: int


SIZES = {
    "small": Size(30, 60, 8, 10, 20, 4),
    "medium": Size(60, 150, 14, 14, 20, 7),
    "large": Size(150, 400, 40, 14, 20, 18),
}


def fortnight_case(size: str, seed: int) -> Problem:
    """A fortnight of two sites and one base: "small", "medium" or "large"; more work than people, so that some is left out."""
    s, rng = SIZES[size], np.random.default_rng([seed, len(size)])
    wind = {site: wind_of(rng, s.days, s.members, mean_mps=mean) for site, mean in (("hill", 7.6), ("shore", 8.4))}
    turbines = _turbines(rng, s)
    people = _people(rng, s)
    crane_day = int(rng.choice([d for d in range(2, s.days - 1) if d % 7 < 4]))
    draft = Problem(
        name=f"{size} {seed}",
        origin="2026-03-02T00:00:00Z",
        slot_min=SLOT_MIN,
        days=_days(s.days),
        base_x_km=0.0,
        base_y_km=0.0,
        speed_kmh=50.0,
        hop_fixed_min=6,
        turbines=turbines,
        people=people,
        vehicles=tuple(Vehicle(f"van {i + 1}", 3 + i % 2) for i in range(s.vehicles)),
        equipment=(
            Equipment("crane", "mobile crane", 1, (crane_day, crane_day + 1), day_cost=180_000),
            Equipment("platform", "rope platform", 1 + s.people // 20, tuple(range(s.days)), day_cost=9_000),
        ),
        orders=_orders(rng, s, turbines, crane_day),
        members=s.members,
        **_series(wind, s.days),
        apart=((people[1].id, people[2].id),),
        rules=Rules(max_stopped={"hill": 5 + s.people // 6, "shore": 5 + s.people // 6}),
    )
    return _with_published(rng, draft)


def _days(count: int) -> tuple[Day, ...]:
    first = date(2026, 3, 2)
    return tuple(_day(d, first + timedelta(days=d), DAY_SLOTS, DAY_START_MIN) for d in range(count))


def _day(number: int, day: date, slots: int, start_min: int) -> Day:
    year, week, _ = day.isocalendar()
    return Day(day.isoformat(), 1440 * number + start_min, slots, slots * number, f"{year}-W{week:02}")


def _series(wind: dict[str, Wind], days: int) -> dict[str, dict[str, object]]:
    """Windows, energy and prices of the sites on the days' grid."""
    hours = (DAY_START_MIN + SLOT_MIN * np.arange(DAY_SLOTS)) / 60
    cents = np.tile(np.round(6500 + 1500 * np.cos((hours - 18.5) / 24 * 2 * np.pi)), days).astype(int)
    start, end = DAY_START_MIN // SLOT_MIN, DAY_START_MIN // SLOT_MIN + DAY_SLOTS
    rated_mw = {"old": 2.0, "new": 3.4}
    mwh = {(site, kind): w.mwh(mw) for site, w in wind.items() for kind, mw in rated_mw.items()}
    return {
        "workable": {
            f"{site} {limit}": pack_members(w.below(limit, start, end)) for site, w in wind.items() for limit in LIMITS_MPS
        },
        "stop_mwh": {f"{site} {kind}": _floats(table[:, start:end].ravel()) for (site, kind), table in mwh.items()},
        "night_mwh": {f"{site} {kind}": _floats(_nights(table, start, end)) for (site, kind), table in mwh.items()},
        "price_cents": {site: tuple(int(c) for c in cents) for site in wind},
        "night_cents": dict.fromkeys(wind, (5200,) * days),
    }


def _nights(table: np.ndarray, start: int, end: int) -> np.ndarray:
    """MWh from the end of each day's grid to the start of the next one's; the last night is cut at midnight."""
    nights = table[:, end:].sum(axis=1)
    nights[:-1] += table[1:, :start].sum(axis=1)
    return nights


def _floats(values: np.ndarray) -> tuple[float, ...]:
    return tuple(round(float(v), 6) for v in values)


def _turbines(rng: np.random.Generator, s: Size) -> tuple[Turbine, ...]:
    """Rows of eight, five to a feeder; the near site has ladder turbines; one lift is shut for good, one turbine for climbing."""
    found = []
    for i in range(s.turbines):
        site = "hill" if i < 0.6 * s.turbines else "shore"
        k = i if site == "hill" else i - int(0.6 * s.turbines)
        x, y = (7.0, 3.0) if site == "hill" else (-18.0, 14.0)
        ladder = site == "hill" and i % 5 == 4
        usual = LADDER if ladder else (LIFT if site == "hill" else SLOW_LIFT)
        found.append(
            Turbine(
                id=f"{site[0].upper()}{k + 1:03}",
                site=site,
                x_km=round(x + 0.7 * (k % 8) + 0.1 * float(rng.integers(-1, 2)), 1),
                y_km=round(y + 0.9 * (k // 8) + 0.1 * float(rng.integers(-1, 2)), 1),
                energy=f"{site} {'old' if ladder else 'new'}",
                access=(usual,) * s.days,
                feeder=f"{site} {k // FEEDER + 1}",
            )
        )
    found[0] = replace(found[0], access=(LADDER,) * s.days)
    found[1] = replace(found[1], access=(Access("none", 0, 0),) * s.days)
    return tuple(found)


def _people(rng: np.random.Generator, s: Size) -> tuple[Person, ...]:
    """Five shifts a week (some on Saturday), a certificate that runs out, somebody on leave, a learner."""
    found = []
    for i in range(s.people):
        days = [d for d in range(s.days) if d % 7 < 5 or (d % 7 == 5 and i % 4 == 0)]
        days = [d for d in days if not (d % 7 == 0 and i % 4 == 0)]
        if i == 3:
            days = [d for d in days if d < 3 or d > 6]
        fit = tuple(d for d in range(s.days) if not (i == 4 and d >= s.days - 4))
        late = int(rng.integers(0, 3))
        shifts = tuple(Shift(d, 1 + late, 24 + late, 20 + late) for d in days)
        found.append(
            Person(
                id=f"p{i + 1:02}",
                name=f"Technician {i + 1}",
                shifts=shifts,
                skills=_skills(rng, i, s.days),
                fit_days=fit,
                rescue_days=tuple(range(s.days)) if i % 5 else (),
                learner=i == 5,
            )
        )
    return tuple(found)


def _skills(rng: np.random.Generator, number: int, days: int) -> tuple[Held, ...]:
    """Everybody some electrical skill, every third one more, so that each skill is held by several."""
    every = tuple(range(days))
    more = SKILLS[1 + number % 4 :][:1] + ((SKILLS[1 + (number + 2) % 4],) if number % 3 == 0 else ())
    return (Held("electrical", int(rng.integers(1, 4)), every), *(Held(skill, 1 + number % 2, every) for skill in more))


def _orders(rng: np.random.Generator, s: Size, turbines: tuple[Turbine, ...], crane_day: int) -> tuple[Order, ...]:
    """A third are services of several visits; the rest small jobs and repairs; a few special ones at the end."""
    found = [_order(rng, s, i, turbines[int(rng.integers(2, len(turbines)))], multi=i % 3 == 0) for i in range(s.orders)]
    feeder = tuple(t.id for t in turbines if t.feeder == turbines[9].feeder)
    found[1] = replace(found[1], turbine=turbines[9].id, stops=feeder, needs=(Need("high voltage", 1, 1),), ride_along=False)
    found[1] = replace(found[1], window="hill 18", modes=(Mode(2, (120,)),), equipment=(), label="feeder isolation")
    for i in range(2, 2 + 3 * (1 + s.orders // 200), 3):
        found[i] = replace(found[i], equipment=("crane",), days=(crane_day, crane_day + 1), needs=(Need("crane lead", 1, 1),))
        found[i] = replace(found[i], modes=(Mode(3, (240,)),), window=f"{found[i].window.split()[0]} 10", left_out_cost=1_500_000)
    opening = {"opens_climbing": True, "access": Access("ladder", 40, 30), "ride_along": False}
    found[4] = replace(found[4], turbine=turbines[1].id, stops=(turbines[1].id,), window="hill 14", needs=(), **opening)
    found[7] = replace(found[7], turbine=turbines[1].id, stops=(turbines[1].id,), window="hill 12", needs=())
    found[10] = replace(found[10], after=(found[1].id,))
    return tuple(found)


def _order(rng: np.random.Generator, s: Size, number: int, turbine: Turbine, multi: bool) -> Order:
    days = list(range(s.days))
    if number % 9 == 5:
        days = days[int(rng.integers(1, s.days // 2)) :]
    if number % 13 == 6:
        shut = int(rng.integers(0, s.days - 2))
        days = [d for d in days if not shut <= d < shut + 3]
    limit = int(rng.choice([10, 12, 12, 14, 15] if not multi else [12, 14, 15]))
    urgency = float(rng.choice([0.4, 1.0, 1.0, 2.5]))
    modes = _modes(rng, multi)
    hours = modes[0].team * sum(modes[0].visits_min) / 60
    skill = str(rng.choice(SKILLS[:4], p=[0.55, 0.2, 0.15, 0.1]))
    level = int(rng.integers(1, 3)) if skill == "electrical" else 1
    return Order(
        id=f"W{number + 1:03}",
        turbine=turbine.id,
        modes=modes,
        needs=(Need(skill, level, 1),),
        window=f"{turbine.site} {limit}",
        days=tuple(days),
        due_day=int(rng.integers(-4, s.days + 6)),
        late_cost=int(urgency * rng.integers(2_000, 12_000)),
        left_out_cost=int(urgency * (60_000 + 22_000 * hours)),
        stops=(turbine.id,),
        pack_min=15,
        equipment=("platform",) if skill == "blades" and not multi else (),
        stopped_between=multi and number % 12 == 0,
        max_gap_days=4 if multi else None,
        label="service" if multi else "job",
    )


def _modes(rng: np.random.Generator, multi: bool) -> tuple[Mode, ...]:
    """Work minutes by a team of two, and mostly also the shorter way by three.

    A service takes 25 to 45 technician-hours in two or three visits (a yearly service takes 25 to 60 in 1 to 3 days by 2 or 3
    people: common practice, no source), anything else 1 to 6 hours of a pair.
    """
    if multi:
        total = int(rng.integers(50, 91)) * 15
        visits = 2 if total <= 840 else 3
        two = Mode(2, (_quarter(total / visits),) * visits)
        return (two, Mode(3, (_quarter(total / 1.4 / (visits - 1)),) * (visits - 1)))
    work = int(rng.integers(4, 25)) * 15
    return (Mode(2, (work,)), Mode(3, (_quarter(work / 1.4),))) if work > 90 else (Mode(2, (work,)),)


def _quarter(minutes: float) -> int:
    return max(30, 15 * round(minutes / 15))


def _with_published(rng: np.random.Generator, problem: Problem) -> Problem:
    """One order in ten stands in an older plan, on some allowed day and hour."""
    chosen = [o for i, o in enumerate(problem.orders) if i % 10 == 3]
    visits = (PublishedVisit(o.id, 0, int(rng.choice(o.days)), int(rng.integers(2, 14)), (), 4_000) for o in chosen)
    return replace(problem, published=tuple(visits))


__all__ = ["SIZES", "fortnight_case", "random_small"]
