"""Read the instances: wind, waves and lost energy by hour and turbine, and what was published for each start day."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FOLDER = Path(__file__).resolve().parents[4] / "shared" / "bench" / "offshore2022"
"""`shared/` lies beside the checkout."""

TURBINES, RATED_MW = 10, 12.0
NOISE_SEED = 24
JOB_HOURS, FIRST_START, LAST_START = 8, 5, 12
WIND_MPS, WAVE_M = 15.0, 1.5
CREWS = 2
FAILURE_EVERY_DAYS = 5
SURPRISES = ((0, 17), (2, 36))
"""(turbine, day) of failures that nobody knows before their day; turbine 1 has number 0."""

BEFORE, AFTER, CREW_HOUR, VESSEL_DAY, MWH = 4000.0, 16_000.0, 250.0, 2500.0, 80.0
"""Dollars: a job before and after its turbine failed, a crew's hour, a day with the vessel, a MWh lost."""

STARTS = tuple(range(30))
DAYS = 71
"""Days from each start that the record of 101 days holds for the latest start."""

MATCHING = tuple(s for s in STARTS if not 19 <= s <= 22)
"""Starts whose published hours of standstill follow from the definition."""


@dataclass(frozen=True)
class Sea:
    """What the hours bring: float [hours, turbines] wind (m/s) and MWh a turbine makes; waves float [hours] (m)."""

    wind_mps: NDArray[np.float64]
    wave_m: NDArray[np.float64]
    mwh: NDArray[np.float64]


@dataclass(frozen=True)
class Job:
    """One job. `fails` is the day (from the start) on which its turbine fails; `known` the day from which that is known."""

    turbine: int
    fails: int
    known: int = 0

    @property
    def surprise(self) -> bool:
        """Whether it failed unforeseen."""
        return self.known > 0


JOBS = (
    *(Job(t, FAILURE_EVERY_DAYS * (t + 1)) for t in range(TURBINES)),
    *(Job(turbine, day, day) for turbine, day in SURPRISES),
)


@dataclass(frozen=True)
class Published:
    """One row of a published table."""

    cost: float
    vessel_booked: int
    vessel_used: int
    stood_hours: int
    lost_mwh: float
    before: int
    after: int


def here() -> bool:
    """Whether the instances lie beside the checkout."""
    return FOLDER.is_dir()


def columns(path: Path) -> dict[str, list[str]]:
    """A CSV file by column."""
    with path.open(newline="", encoding="utf-8-sig") as file:
        names, *rows = list(csv.reader(file))
    return {name: [row[i] for row in rows] for i, name in enumerate(names)}


@cache
def read_sea() -> Sea:
    """Wind by turbine is the hourly wind with standard normal noise, drawn once; power by the step curve."""
    record = columns(FOLDER / "wind_wave_data.csv")
    hourly, wave = (np.array(record[name], float) for name in ("wind_speed_mps", "wave_height_m"))
    wind = hourly[:, None] + np.random.RandomState(NOISE_SEED).normal(0.0, 1.0, (len(hourly), TURBINES))
    curve = columns(FOLDER / "method_of_bins.csv")
    edges, share = (np.array(curve[name], float) for name in ("Wind speed bins", "Norm power"))
    made = RATED_MW * share[np.maximum(0, np.searchsorted(edges, wind, side="right") - 1)]
    return Sea(wind, wave, made)


@cache
def published(strategy: str = "HOST") -> tuple[Published, ...]:
    """A published strategy's results by start day."""
    found = columns(FOLDER / f"{strategy}_case1.csv")
    names = ("Cost", "Ves. Rentals", "Ves. Util.", "Downtime (h)", "Prod. Loss (MW)", "PM", "CM")
    kinds = (float, int, int, int, float, int, int)
    return tuple(
        Published(*(kind(value) for kind, value in zip(kinds, row, strict=True)))
        for row in zip(*(found[n] for n in names), strict=True)
    )


def matched() -> tuple[int, ...]:
    """The 21 starts to compare on: standstill follows from the definition, and only the two surprises were repaired late."""
    return tuple(start for start in MATCHING if published()[start].after == len(SURPRISES))
