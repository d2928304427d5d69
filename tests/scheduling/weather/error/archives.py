"""Past forecasts made up with errors that are known, seeded."""

from __future__ import annotations

import numpy as np

from scheduling.weather.error import Course, EnsembleCourse
from scheduling.weather.error.sampling import smoothed

LEADS_H = np.arange(120.0)


def walk(rng: np.random.Generator, count: int, memory_h: float, step_h: float = 1.0, steps: int = len(LEADS_H)) -> np.ndarray:
    """[count, steps] standard normal, correlation exp(-dt/memory_h)."""
    keep = np.exp(-step_h / memory_h)
    out = rng.standard_normal((count, steps))
    for step in range(1, steps):
        out[:, step] = keep * out[:, step - 1] + np.sqrt(1 - keep**2) * out[:, step]
    return out


def sigma_at(lead_h: np.ndarray) -> np.ndarray:
    """The spread the archives are made with."""
    return np.sqrt(0.5 + 4.0 * (1 - np.exp(-lead_h / 40.0)))


def archive(count: int, seed: int = 1, bias_mps: float = 0.8, memory_h: float = 12.0, smooth: bool = False) -> list[Course]:
    """Forecasts around 12 m/s, `bias_mps` too low, off by `sigma_at` with the memory, of second order where smooth."""
    rng = np.random.default_rng(seed)
    forecast = 12.0 + 1.5 * walk(rng, count, 30.0)
    # Half of a set of mirrored pairs: no two of them the same but for the sign.
    errors = smoothed(2 * count, LEADS_H, memory_h, seed)[:count] if smooth else walk(rng, count, memory_h)
    observed = forecast + bias_mps + sigma_at(LEADS_H) * errors
    return [Course(LEADS_H, one, two) for one, two in zip(forecast, observed, strict=True)]


def ensembles(count: int, members: int = 8, seed: int = 1, narrow: float = 0.5, bias_mps: float = -0.6) -> list[EnsembleCourse]:
    """Ensembles whose members lie `narrow` times as far apart as they should, `bias_mps` off."""
    rng = np.random.default_rng(seed)
    out = []
    for _ in range(count):
        middle = 12.0 + walk(rng, 1, 30.0)[0]
        wide = sigma_at(LEADS_H) * rng.uniform(0.6, 1.4)
        raw = middle + narrow * wide * walk(rng, members, 12.0)
        out.append(EnsembleCourse(LEADS_H, raw, middle + bias_mps + wide * walk(rng, 1, 12.0)[0]))
    return out
