"""Seeded rounds to measure with, and very small ones to count out. Same size and seed: the same problem."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduling.year.problem import EVERYBODY, Equipment, Item, Problem, Rules, Together, Turbine, Week

LIMITS_MPS = {"climb": 18.0, "nacelle": 12.0, "rope": 10.0}


@dataclass(frozen=True)
class Size:
    """How large a round is. `use`: person-hours asked for against those of shifts times the mean workable share."""

    turbines: int
    sites: int
    weeks: int
    years: int
    use: float = 0.75


SIZES = {
    "small": Size(8, 1, 26, 6),
    "medium": Size(30, 1, 52, 15),
    "large": Size(200, 6, 52, 15),
}


def weeks_from(monday: str, count: int, capacity_h: dict[str, float]) -> tuple[Week, ...]:
    """`count` weeks from a Monday, all with the same capacity."""
    first = date.fromisoformat(monday)
    days = [first + timedelta(days=7 * w) for w in range(count)]
    return tuple(Week("{}-W{:02d}".format(*day.isocalendar()), day.isoformat(), dict(capacity_h)) for day in days)


def generate(size: Size, seed: int) -> Problem:
    """A round of services, statutory inspections and rope work over a windy winter and a calm summer."""
    rng = np.random.default_rng(seed)
    sites = [f"S{n + 1}" for n in range(size.sites)]
    turbines = tuple(Turbine(f"T{n + 1:03d}", sites[n % size.sites], sites[n % size.sites]) for n in range(size.turbines))
    mean_mps = {site: _wind(rng, size) for site in sites}
    share = {f"{s}/{k}": _table(1 - np.exp(-np.pi / 4 * (v / mean_mps[s]) ** 2)) for s in sites for k, v in LIMITS_MPS.items()}
    lost = {site: _table(3.0 * np.clip((mean_mps[site] / 13.0) ** 2.2, 0, 0.6)) for site in sites}
    items = tuple(item for turbine in turbines for item in _items(rng, turbine, size.weeks))
    workable = sum(np.mean(share[i.limit]) / len(items) for i in items)
    hours = sum(item.effort_person_h for item in items) / size.use / float(workable) / size.weeks
    capacity = {EVERYBODY: round(hours, 1), "ropes": round(0.35 * hours, 1), "inspector": round(0.25 * hours, 1)}
    return Problem(
        name=f"{size.turbines} turbines, {size.weeks} weeks, seed {seed}",
        weeks=weeks_from("2026-01-05", size.weeks, capacity),
        turbines=turbines,
        items=items,
        scenarios=tuple(str(2010 + y) for y in range(size.years)),
        workable_share=share,
        lost_mwh_per_stop_h=lost,
        price_cents={site: (tuple(int(6500 + 1500 * np.cos(w / 52 * 2 * np.pi)) for w in range(size.weeks)),) for site in sites},
        equipment=(Equipment("platform", tuple(range(12, min(40, size.weeks))), 1 + size.turbines // 40, 150_000),),
        together=tuple(Together(f"{t.id} service", f"{t.id} oil", 1.5) for t in turbines),
        rules=Rules(max_down={site: max(2, size.turbines // size.sites // 5) for site in sites}),
    )


def _wind(rng: np.random.Generator, size: Size) -> NDArray[np.float64]:
    """Mean wind of each week and past year, [years, weeks], m/s."""
    season = 7.2 + 1.6 * np.cos((np.arange(size.weeks) - 3) / 52 * 2 * np.pi)
    noise = rng.standard_normal((size.years, size.weeks))
    return np.clip(season + rng.normal(0, 0.3, (size.years, 1)) + 1.2 * noise, 3.0, 14.0)


def _table(values: NDArray[np.float64]) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(round(float(v), 4) for v in row) for row in values)


def _items(rng: np.random.Generator, turbine: Turbine, weeks: int) -> list[Item]:
    closed = set(range(14, 17)) if rng.random() < 0.1 else set()
    first = int(rng.integers(0, 26))
    found = [
        _item(turbine, "service", weeks, closed, int(rng.integers(4, weeks)), (8, 6), 48.0, 16.0, "climb"),
        _item(turbine, "oil", weeks, closed, int(rng.integers(4, weeks)), (12, 8), 12.0, 4.0, "climb"),
        _item(turbine, "lift A", weeks, closed, first, (6, 0), 6.0, 3.0, "climb", {"inspector": 1}, True),
        _item(turbine, "lift B", weeks, closed, first + 26, (6, 0), 6.0, 3.0, "climb", {"inspector": 1}, True),
        _item(turbine, "roof", weeks, closed, int(rng.integers(8, weeks)), (14, 10), 16.0, 8.0, "nacelle"),
    ]
    if rng.random() < 0.5:
        found.append(
            _item(turbine, "blades", weeks, closed, int(rng.integers(14, max(15, min(weeks, 40)))), (16, 12), 36.0, 18.0, "rope",
                  {"ropes": 2}, False, ("platform",) if rng.random() < 0.5 else ())
        )  # fmt: skip
    return found


def _item(
    turbine: Turbine,
    kind: str,
    weeks: int,
    closed: set[int],
    due: int,
    tolerance: tuple[int, int],
    effort: float,
    stop_h: float,
    limit: str,
    skills: dict[str, int] | None = None,
    statutory: bool = False,
    equipment: tuple[str, ...] = (),
) -> Item:
    early, late = tolerance
    stretch = 0 if statutory else 12
    last = min(weeks - 1, due + late + stretch)
    return Item(
        id=f"{turbine.id} {kind}",
        turbine=turbine.id,
        label=f"{kind} of {turbine.id}",
        effort_person_h=effort,
        stop_h=stop_h,
        limit=f"{turbine.site}/{limit}",
        opens=due - early,
        due=due,
        closes=due + late,
        weeks=tuple(w for w in range(max(0, due - early), last + 1) if w not in closed),
        late_cost=6_000,
        left_out_cost=(600_000 if statutory else 250_000) if due + late < weeks else 20_000,
        skills=skills or {},
        statutory=statutory,
        equipment=equipment,
    )
