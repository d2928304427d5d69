"""How a turbine's own wind compares with the wind of its site at the same hub, learnt from history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import BoolArray, FloatArray, Series
from scheduling.weather.slots import to_slots

#: Fewer hours than a week tell nothing.
LEAST_PAIRS = 168
#: With this many hours (60 days) the fit counts half, no correction the other half. Set on R80711 (La Haute Borne): a fit to
#: 7 to 60 days, used on the rest of its year, then adds 0.05 m/s to the error at worst; with 200 hours it could add 0.39.
TRUST_PAIRS = 1440
#: A fit that lowers the wind at LIMIT_MPS is not believed below this many hours (30 days). Common practice, no source.
LOWER_PAIRS = 720
LIMIT_MPS = 10.0
FACTORS = (0.7, 1.4)
OFFSETS_MPS = (-1.5, 1.5)
#: However good the fit, it lowers no wind by more than this share: what a nacelle's anemometer may read low by.
#: Common practice, no source.
LOWER_SHARE = 0.1
#: The line is laid through these shares of both records.
QUANTILES = np.linspace(0.05, 0.95, 19)
#: A pair further off a first line than this many robust sigmas is left out.
ODD_SPREADS = 4.0
#: A clock that runs off by whole hours shows in the correlation: looked for this far, believed from this gain on.
SHIFT_H = 3
SHIFT_GAIN = 0.02

Number = TypeVar("Number", float, NDArray[np.float64], NDArray[np.float32])


@dataclass(frozen=True)
class TurbineFit:
    """own = factor x site + offset_mps, from `pairs` hours; rest_mps is the spread of what the line leaves (robust sigma)."""

    factor: float
    offset_mps: float
    pairs: int
    rest_mps: float


NO_CORRECTION = TurbineFit(1.0, 0.0, 0, 0.0)


def fit_turbine_wind(own_mps: FloatArray, site_mps: FloatArray) -> TurbineFit:
    """Fit a turbine's own wind to its site's, both float64 [n] in m/s at the hub, of the same hours; NaN is left out.

    The line goes through the quantiles of the two records (median of the slopes between all pairs of quantiles, after
    Theil and Sen), not through the pairs: a line through pairs also carries the error of the forecast, which would draw
    every strong wind towards the mean, and that error has its own model. So the share of hours above a limit comes out
    right. Few pairs are drawn towards no correction; one that would lower the wind needs a month of them.

    A nacelle's anemometer stands behind the rotor and reads the wind that the rotor has slowed and swirled, and differently
    when it stands still. The fit learns that too and cannot tell it from the place. A mast, or a nacelle's wind corrected by
    the maker's transfer function, is better; therefore the cap in `corrected`.

    Raises ValueError for arrays that differ in shape or fewer than LEAST_PAIRS pairs.
    """
    if own_mps.shape != site_mps.shape or own_mps.ndim != 1:
        raise ValueError("own_mps and site_mps: give two arrays [n] of the same hours")
    known = np.isfinite(own_mps) & np.isfinite(site_mps)
    own, site, pairs = own_mps[known], site_mps[known], int(known.sum())
    if pairs < LEAST_PAIRS:
        raise ValueError(f"pairs: {pairs} hours in which both winds are known; at least {LEAST_PAIRS} (a week) are needed")
    sane = _sane(own, site, *_line(own, site))
    factor, offset = _drawn(*_line(own[sane], site[sane]), pairs)
    spread = _spread(own - factor * site - offset)
    return TurbineFit(round(factor, 4), round(offset, 4), pairs, round(spread, 4))


def corrected(wind_mps: Number, fit: TurbineFit) -> Number:
    """The turbine's wind from its site's wind at the hub, any shape; never below 0, nor lower than LOWER_SHARE allows.

    NaN stays NaN.
    """
    least = wind_mps * (1.0 - LOWER_SHARE)
    result: Number = np.maximum(wind_mps * fit.factor + fit.offset_mps, np.maximum(least, 0.0))
    return result


def paired(own: Series, site: Series) -> tuple[FloatArray, FloatArray]:
    """(own, site), float64 [n] each: both winds as means over the hours (or longer steps) of the site's record.

    An hour with a missing or flagged step is NaN. Raises ValueError when the two records have no time in common.
    """
    step = max(60, own.step_min, site.step_min)
    slots = len(site.values) * site.step_min // step
    if own.end <= site.start or own.start >= site.end or slots < 1:
        raise ValueError(f"{own.name or 'own'}: it runs from {own.start:%Y-%m-%d} to {own.end:%Y-%m-%d}, "
                         f"the site's wind from {site.start:%Y-%m-%d} to {site.end:%Y-%m-%d}: no time in common")  # fmt: skip
    both = [to_slots(one, start=site.start, slot_min=step, slots=slots, how="mean") for one in (own, site)]
    return both[0].values, both[1].values


def clock_shift(own_mps: FloatArray, site_mps: FloatArray) -> int:
    """Whole steps by which the own record would have to move (later: above 0) to fit the site's best; 0 where it stands well.

    A record whose clock is wrong by an hour or two fits badly, and its peaks are then taken for noise.
    """
    scores = {shift: _correlation(own_mps, site_mps, shift) for shift in range(-SHIFT_H, SHIFT_H + 1)}
    best = max(scores, key=lambda shift: (scores[shift], -abs(shift)))
    return best if scores[best] - scores[0] > SHIFT_GAIN else 0


def _correlation(own: FloatArray, site: FloatArray, shift: int) -> float:
    moved = np.full(len(own), np.nan)
    moved[max(0, shift) : len(own) + min(0, shift)] = own[max(0, -shift) : len(own) - max(0, shift)]
    known = np.isfinite(moved) & np.isfinite(site)
    if known.sum() < LEAST_PAIRS or np.ptp(moved[known]) == 0.0 or np.ptp(site[known]) == 0.0:
        return 0.0
    return float(np.corrcoef(moved[known], site[known])[0, 1])


def _line(own: FloatArray, site: FloatArray) -> tuple[float, float]:
    along, across = np.quantile(site, QUANTILES), np.quantile(own, QUANTILES)
    first, second = np.triu_indices(len(QUANTILES), 1)
    apart = along[second] > along[first]
    if not apart.any():
        return 1.0, float(np.clip(np.median(across - along), *OFFSETS_MPS))
    slopes = (across[second] - across[first])[apart] / (along[second] - along[first])[apart]
    factor = float(np.clip(np.median(slopes), *FACTORS))
    return factor, float(np.clip(np.median(across - factor * along), *OFFSETS_MPS))


def _sane(own: FloatArray, site: FloatArray, factor: float, offset: float) -> BoolArray:
    """Pairs that a first line leaves no grossly odd rest of: a stopped or slipped sensor is no place."""
    rest = own - factor * site - offset
    sane: BoolArray = np.abs(rest - np.median(rest)) <= max(ODD_SPREADS * _spread(rest), 1e-6)
    return sane


def _spread(rest: FloatArray) -> float:
    return 1.4826 * float(np.median(np.abs(rest - np.median(rest))))


def _drawn(factor: float, offset: float, pairs: int) -> tuple[float, float]:
    """Drawn towards no correction by few pairs; a month is needed to lower the wind where limits lie."""
    if factor * LIMIT_MPS + offset < LIMIT_MPS and pairs < LOWER_PAIRS:
        return 1.0, max(0.0, offset) if factor >= 1.0 else 0.0
    weight = pairs / (pairs + TRUST_PAIRS)
    return 1.0 + weight * (factor - 1.0), weight * offset
