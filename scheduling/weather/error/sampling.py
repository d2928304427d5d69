"""Members out of one forecast: errors of the model's spread, shape and memory added, by seed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.error.model import DEFAULT_ERROR, SMOOTH, ErrorModel
from scheduling.weather.series import FloatArray

Members = NDArray[np.float32]


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
    m/s and a lopsided shape. The same errors serve every leading index (turbines of one site share their
    weather). NaN stays NaN in every member. Raises ValueError when the shapes do not fit, the lead times do
    not rise, or count is below 1.
    """
    steps = forecast_mps.shape[-1]
    if lead_h.shape != (steps,):
        raise ValueError(f"lead_h: give one lead time a step, {steps} of them, not {lead_h.shape}")
    if count < 1:
        raise ValueError("count: give 1 member or more")
    if count == 1:
        return np.asarray(forecast_mps[..., None, :], dtype=np.float32)
    errors = (errors_of(model, lead_h, count, seed) * model.sigma_mps(lead_h)).astype(np.float32)
    expected = np.asarray(model.expected_mps(forecast_mps, lead_h)[..., None, :], dtype=np.float32)
    # In place: a fleet's members are the largest array of a run.
    drawn: Members = model.scale(expected) * errors
    drawn += expected
    np.maximum(drawn, np.float32(0.0), out=drawn)
    return drawn


def errors_of(model: ErrorModel, lead_h: FloatArray, count: int, seed: int) -> FloatArray:
    """float64 [members, t]: errors of the model's memory and shape, in standard deviations."""
    draw = smoothed if model.smooth else correlated
    noise = draw(count, lead_h, model.memory_h, seed).astype(np.float64)
    if model.quick:
        quick = draw(count, lead_h, model.quick_h, (seed, 1))
        noise = np.sqrt(1.0 - model.quick) * noise + np.sqrt(model.quick) * quick
    return model.shaped(noise)


def correlated(count: int, lead_h: NDArray[np.float64], memory_h: float, seed: int | tuple[int, ...]) -> Members:
    """float32 [members, t]: standard normal errors, correlation exp(-dt/memory_h), in mirrored pairs; seeded."""
    steps = len(lead_h)
    gaps = np.diff(lead_h)
    if not (gaps > 0).all():
        raise ValueError("lead_h: lead times must rise from step to step")
    keep = np.exp(-gaps / memory_h)
    fresh = np.sqrt(1.0 - keep**2)
    half = (count + 1) // 2
    drawn = np.random.default_rng(seed).standard_normal((steps, half))
    drawn[1:] *= fresh[:, None]
    _remember(drawn, keep)
    noise = drawn.T.astype(np.float32)
    return np.concatenate([noise, -noise])[:count]


def smoothed(count: int, lead_h: FloatArray, memory_h: float, seed: int | tuple[int, ...]) -> Members:
    """float32 [members, t]: as `correlated`, but of second order: correlation (1 + x) exp(-x), 1/e after memory_h.

    Two first-order memories one behind the other, begun long enough before the first lead. Uneven leads are read off the nearest
    step of a grid as fine as the shortest.
    """
    gaps = np.diff(lead_h)
    if not (gaps > 0).all():
        raise ValueError("lead_h: lead times must rise from step to step")
    step_h = float(gaps.min()) if len(gaps) else 1.0
    before = int(np.ceil(5.0 * memory_h / step_h))
    steps = before + round((lead_h[-1] - lead_h[0]) / step_h) + 1
    keep = float(np.exp(-step_h * SMOOTH / memory_h))
    half = (count + 1) // 2
    drawn = np.random.default_rng(seed).standard_normal((steps, half)) * np.sqrt((1.0 - keep**2) ** 3 / (1.0 + keep**2))
    for _ in range(2):
        _remember(drawn, np.full(steps - 1, keep))
    place = before + (lead_h - lead_h[0]) / step_h
    noise = drawn[np.rint(place).astype(int)].T.astype(np.float32)
    return np.concatenate([noise, -noise])[:count]


def _remember(drawn: FloatArray, keep: FloatArray) -> None:
    """Turn fresh numbers [t, n] into x_t = keep_t-1 x_t-1 + fresh_t, in place."""
    if len(keep) and np.ptp(keep) < 1e-9:
        # Even steps: (1 + kB)(1 + k^2 B^2)(1 + k^4 B^4)... with B one step back, until k^ahead is nothing any more.
        ahead, part = 1, float(keep[0])
        while ahead < len(drawn) and part > 1e-12:
            drawn[ahead:] += part * drawn[:-ahead]
            ahead, part = 2 * ahead, part * part
        return
    for step in range(1, len(drawn)):
        drawn[step] += keep[step - 1] * drawn[step - 1]
