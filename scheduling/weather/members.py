"""A forecast as members, so that everything downstream sees chances and not one line."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Members = NDArray[np.float32]


@dataclass(frozen=True)
class ErrorModel:
    """How far a wind forecast is off, by lead time. The defaults stand until a site has its own forecasts to
    fit to.

    The error's standard deviation at lead h is sqrt(start^2 + growth^2 (1 - exp(-h/growth_h))) for a wind of
    `at_mps`: 1.0 m/s at once, 1.9 after a day, 2.4 after two, 3.1 after five. `relative` of it scales with
    the wind (twice the wind, more error), within half and one and a half of it. Errors are correlated in time
    (first-order, falling to 1/e after `memory_h`) and have `bias_mps` as their mean (forecast + bias =
    expected wind).

    Source: the shape (growth that levels off, first-order memory) is common in forecast verification; the
    figures are from memory, in line with 1.0-1.3 m/s RMSE of a three-day North Sea hindcast against a mast.
    Common practice.
    """

    start_mps: float = 1.0
    growth_mps: float = 3.4
    growth_h: float = 96.0
    memory_h: float = 10.0
    relative: float = 0.5
    at_mps: float = 8.0
    bias_mps: float = 0.0

    def __post_init__(self) -> None:
        finite = all(math.isfinite(value) for value in vars(self).values())
        if not finite or min(self.start_mps, self.growth_mps) < 0 or not 0 <= self.relative <= 1:
            raise ValueError("error model: spreads must be 0 or more and `relative` between 0 and 1")
        if not (self.growth_h > 0 and self.memory_h > 0 and self.at_mps > 0):
            raise ValueError("error model: growth_h, memory_h and at_mps must be above 0")

    def sigma_mps(self, lead_h: NDArray[np.float64]) -> NDArray[np.float64]:
        """float64 [t]: the error's standard deviation at each lead, m/s, for a wind of `at_mps`."""
        grown = 1.0 - np.exp(-np.maximum(lead_h, 0.0) / self.growth_h)
        return np.sqrt(self.start_mps**2 + self.growth_mps**2 * grown)


DEFAULT_ERROR = ErrorModel()


def members_of(
    forecast_mps: NDArray[np.float64],
    lead_h: NDArray[np.float64],
    *,
    count: int,
    seed: int,
    model: ErrorModel = DEFAULT_ERROR,
) -> Members:
    """float32 [..., members, t] in m/s: a deterministic forecast [..., t] with `count` correlated errors
    added.

    lead_h      float64 [t], hours from the forecast's issue to each step, rising evenly
    count       1 gives the forecast itself (the degenerate case, no error added)

    Members come in mirrored pairs, so that their mean stays the forecast (plus bias) but for the floor at 0
    m/s. The same errors serve every leading index (turbines of one site share their weather). NaN stays NaN
    in every member. Raises ValueError when the shapes do not fit, the lead times do not rise, or count is
    below 1.
    """
    steps = forecast_mps.shape[-1]
    if lead_h.shape != (steps,):
        raise ValueError(f"lead_h: give one lead time a step, {steps} of them, not {lead_h.shape}")
    if count < 1:
        raise ValueError("count: give 1 member or more")
    if count == 1:
        return np.asarray(forecast_mps[..., None, :], dtype=np.float32)
    noise = correlated(count, lead_h, model.memory_h, seed)
    spread = model.sigma_mps(lead_h).astype(np.float32)
    base = np.asarray(forecast_mps[..., None, :] + model.bias_mps, dtype=np.float32)
    scale = np.clip(1.0 - model.relative + model.relative * base / np.float32(model.at_mps), 0.5, 1.5)
    drawn: Members = base + noise * (scale * spread).astype(np.float32)
    return np.maximum(drawn, np.float32(0.0))


def correlated(count: int, lead_h: NDArray[np.float64], memory_h: float, seed: int) -> Members:
    """float32 [members, t]: standard normal errors, correlation exp(-dt/memory_h), in mirrored pairs; seeded."""
    steps = len(lead_h)
    gaps = np.diff(lead_h)
    if not (gaps > 0).all():
        raise ValueError("lead_h: lead times must rise from step to step")
    keep = np.exp(-gaps / memory_h)
    fresh = np.sqrt(1.0 - keep**2)
    half = (count + 1) // 2
    drawn = np.random.default_rng(seed).standard_normal((steps, half))
    for step in range(1, steps):
        drawn[step] = keep[step - 1] * drawn[step - 1] + fresh[step - 1] * drawn[step]
    noise = drawn.T.astype(np.float32)
    return np.concatenate([noise, -noise])[:count]
