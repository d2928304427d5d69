"""Seeded wind of a site: a slow random walk about a mean with a daily cycle, and members that part as lead time grows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LIMITS_MPS = (10, 12, 14, 15, 18)
DAY = 48
"""Half hours a day."""


@dataclass(frozen=True)
class Wind:
    """m/s at hub height: [members, days, 48 half hours]."""

    speed_mps: NDArray[np.float64]

    def below(self, limit_mps: float, start: int, end: int) -> NDArray[np.bool_]:
        """bool [members, days * (end - start)]: half hours [start, end) of each day in which the wind is within the limit."""
        return (self.speed_mps[:, :, start:end] <= limit_mps).reshape(len(self.speed_mps), -1)

    def mwh(self, rated_mw: float) -> NDArray[np.float64]:
        """Mean over members of MWh per half hour, [days, 48]: cubic from 3 m/s to rated power at 12 m/s, none above 25."""
        v = self.speed_mps
        share = np.clip((v**3 - 27.0) / (12.0**3 - 27.0), 0.0, 1.0) * (v < 25.0)
        mean: NDArray[np.float64] = (0.5 * rated_mw * share).mean(axis=0)
        return mean


def wind_of(rng: np.random.Generator, days: int, members: int, mean_mps: float) -> Wind:
    """Wind of a site for whole days from midnight."""
    steps = days * DAY
    hour = (np.arange(steps) % DAY) / 2
    cycle = 0.9 * np.cos((hour - 15.0) / 24.0 * 2 * np.pi)
    truth = mean_mps + cycle + 2.9 * _walk(rng, 1, steps, 0.985)[0]
    lead_h = np.arange(steps) / 2
    spread = 0.5 + 2.2 * (1.0 - np.exp(-lead_h / 120.0))
    speed = np.maximum(0.3, truth + spread * _walk(rng, members, steps, 0.96))
    return Wind(speed.reshape(members, days, DAY))


def _walk(rng: np.random.Generator, rows: int, steps: int, phi: float) -> NDArray[np.float64]:
    """First-order autoregressive rows of variance 1, [rows, steps]."""
    noise = rng.standard_normal((rows, steps)) * np.sqrt(1.0 - phi**2)
    out = np.empty((rows, steps))
    out[:, 0] = rng.standard_normal(rows)
    for i in range(1, steps):
        out[:, i] = phi * out[:, i - 1] + noise[:, i]
    return out
