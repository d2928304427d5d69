"""How far a wind forecast is off, by lead time and wind: the model members are drawn from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import FloatArray

#: Probabilities at which the shape of the error is kept.
SHAPE_AT = (0.005, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.975, 0.995)
#: The same as standard normal scores (scipy.stats.norm.ppf, 4 decimals).
SHAPE_Z = (
    -2.5758, -1.9600, -1.6449, -1.2816, -0.8416, -0.5244, -0.2533, 0.0,
    0.2533, 0.5244, 0.8416, 1.2816, 1.6449, 1.9600, 2.5758,
)  # fmt: skip
#: The forecast's mean is taken over this long, half before and half after.
RIPPLE_H = 6.0
#: (1 + x) exp(-x) falls to 1/e here: how a smooth error's time scale follows from its memory.
SMOOTH = 2.146
#: A wind is off by at least and at most this much of the spread at `at_mps`.
SCALE_RANGE = (0.5, 1.5)


def _bent(values: FloatArray, at: tuple[float, ...], to: tuple[float, ...]) -> FloatArray:
    """Straight between the points, and on in the direction of the last two beyond them."""
    low = to[0] + (values - at[0]) * (to[1] - to[0]) / (at[1] - at[0])
    high = to[-1] + (values - at[-1]) * (to[-1] - to[-2]) / (at[-1] - at[-2])
    inside = np.interp(values, at, to)
    return np.where(values < at[0], low, np.where(values > at[-1], high, inside))


def over_hours(forecast_mps: FloatArray, lead_h: FloatArray) -> FloatArray:
    """float64 [..., t]: the forecast's mean over RIPPLE_H around each step, of what is known of it; NaN where nothing is."""
    step_h = float(np.median(np.diff(lead_h))) if len(lead_h) > 1 else RIPPLE_H
    reach = round(RIPPLE_H / 2 / step_h)
    steps = np.arange(len(lead_h))
    first, past = np.maximum(steps - reach, 0), np.minimum(steps + reach + 1, len(lead_h))
    known = np.isfinite(forecast_mps)
    count, total = (sums[..., past] - sums[..., first] for sums in map(_running, (known, np.where(known, forecast_mps, 0.0))))
    mean: FloatArray = np.where(count > 0, total, np.nan) / np.maximum(count, 1.0)
    return mean


def _running(values: NDArray[Any]) -> FloatArray:
    total = np.cumsum(values, axis=-1, dtype=np.float64)
    return np.concatenate([np.zeros((*values.shape[:-1], 1)), total], axis=-1)


def _rise(values: Any) -> bool:
    return all(one < two for one, two in pairwise(values))


@dataclass(frozen=True)
class LeadError:
    """What was found at one lead.

    Expected is forecast + bias_mps + pull x (forecast - at_mps) + ripple x (forecast - its mean over six hours). A pull below 0
    draws the forecast towards the site's usual wind: the longer the lead, the more of what was forecast beyond it is by chance.
    A ripple below 0 flattens its peaks and dips, which come at another hour than forecast, or not at all. `spread` is the
    error's standard deviation over that of the model's growth curve.
    """

    lead_h: float
    bias_mps: float
    pull: float = 0.0
    ripple: float = 0.0
    spread: float = 1.0


@dataclass(frozen=True)
class ErrorModel:
    """How far a wind forecast is off, by lead time. The defaults stand until a site has its own forecasts to
    fit to.

    The error's standard deviation at lead h is sqrt(start^2 + growth^2 (1 - exp(-h/growth_h))) for a wind of
    `at_mps`: 1.0 m/s at once, 1.9 after a day, 2.4 after two, 3.1 after five. `relative` of it scales with
    the wind (twice the wind, more error), within half and one and a half of it. Errors are correlated in
    time: `quick` of their variance falls to 1/e after `quick_h`, the rest after `memory_h` (first-order
    both, or where `smooth` second-order, without kinks, as winds of a coarse model are). Their mean is
    `bias_mps` (forecast + bias = expected wind). `by_lead` corrects mean and spread by lead, straight between
    its leads and level beyond them. `shape` holds the error in standard deviations at
    SHAPE_AT; empty: normal.

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
    quick: float = 0.0
    quick_h: float = 1.0
    smooth: bool = False
    by_lead: tuple[LeadError, ...] = ()
    shape: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        numbers = [value for value in vars(self).values() if isinstance(value, int | float)]
        numbers += [value for one in self.by_lead for value in vars(one).values()]
        finite = all(math.isfinite(value) for value in (*numbers, *self.shape))
        if not finite or min(self.start_mps, self.growth_mps) < 0 or not 0 <= self.relative <= 1 or not 0 <= self.quick <= 1:
            raise ValueError("error model: spreads must be 0 or more, `relative` and `quick` between 0 and 1")
        if not (self.growth_h > 0 and self.memory_h > 0 and self.at_mps > 0 and self.quick_h > 0):
            raise ValueError("error model: growth_h, memory_h, quick_h and at_mps must be above 0")
        if not _rise([one.lead_h for one in self.by_lead]) or any(one.spread < 0 for one in self.by_lead):
            raise ValueError("error model: the leads of `by_lead` must rise, their spreads be 0 or more")
        if self.shape and (len(self.shape) != len(SHAPE_AT) or not _rise(self.shape)):
            raise ValueError(f"error model: `shape` must be {len(SHAPE_AT)} rising numbers")

    def sigma_mps(self, lead_h: NDArray[np.float64]) -> NDArray[np.float64]:
        """float64 [t]: the error's standard deviation at each lead, m/s, for a wind of `at_mps`."""
        grown = 1.0 - np.exp(-np.maximum(lead_h, 0.0) / self.growth_h)
        curve: FloatArray = np.sqrt(self.start_mps**2 + self.growth_mps**2 * grown)
        sigma: FloatArray = curve * self._at(lead_h, "spread", 1.0)
        return sigma

    def expected_mps(self, forecast_mps: FloatArray, lead_h: FloatArray) -> FloatArray:
        """float64 [..., t]: the wind to be expected where `forecast_mps` [..., t] is forecast; may fall below 0.

        lead_h      float64 [t], rising evenly where the model has a ripple
        """
        expected: FloatArray = forecast_mps + self.bias_mps
        if self.by_lead:
            apart = forecast_mps - over_hours(forecast_mps, lead_h)
            expected += self._at(lead_h, "bias_mps", 0.0) + self._at(lead_h, "ripple", 0.0) * apart
            expected += self._at(lead_h, "pull", 0.0) * (forecast_mps - self.at_mps)
        return expected

    def _at(self, lead_h: FloatArray, name: str, without: float) -> FloatArray:
        """float64 [t]: one figure of `by_lead` at each lead, or `without` where there is none."""
        if not self.by_lead:
            return np.full(len(lead_h), without)
        leads, figures = zip(*((one.lead_h, getattr(one, name)) for one in self.by_lead), strict=True)
        found: FloatArray = np.interp(lead_h, leads, figures)
        return found

    def scale(self, expected_mps: NDArray[Any]) -> NDArray[Any]:
        """Like `expected_mps`: the spread at that wind over the spread at `at_mps`."""
        here = 1.0 - self.relative + self.relative * expected_mps / expected_mps.dtype.type(self.at_mps)
        scale: NDArray[Any] = np.clip(here, *SCALE_RANGE)
        return scale

    def shaped(self, normal: FloatArray) -> FloatArray:
        """Standard normal numbers turned into errors of the model's shape, in standard deviations."""
        return _bent(normal, SHAPE_Z, self.shape) if self.shape else normal

    def normal(self, errors: FloatArray) -> FloatArray:
        """The way back of `shaped`."""
        return _bent(errors, self.shape, SHAPE_Z) if self.shape else errors


DEFAULT_ERROR = ErrorModel()


def model_to_json(model: ErrorModel) -> dict[str, Any]:
    """The model as plain data."""
    return asdict(model)


def model_from_json(data: Mapping[str, Any]) -> ErrorModel:
    """The model that `model_to_json` wrote. Raises ValueError when it is none."""
    try:
        by_lead = tuple(LeadError(**one) for one in data["by_lead"])
        return ErrorModel(**{**data, "by_lead": by_lead, "shape": tuple(data["shape"])})
    except (KeyError, TypeError) as error:
        raise ValueError(f"error model: this is none ({error}); fit the site's forecasts anew") from error
