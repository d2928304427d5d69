"""How good chances and members were, once the weather is known. Every score here is better the smaller it is, skill apart.

Arrays come one entry per case. Shapes that do not fit and values that are not known (NaN) raise ValueError: leave out the
cases that could not be judged first. No case at all is no error: the counts are 0 and the scores NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import BoolArray, FloatArray

#: Tenths, written as the nearest doubles, so that 6 members of 20 lie on the edge 0.3 and not beside it.
TENTHS = tuple(n / 10 for n in range(11))
#: Chances from float32 may lie a hair below their edge.
HAIR = 1e-6


@dataclass(frozen=True)
class Brier:
    """The Brier score and its parts: score = reliability - resolution + uncertainty + within.

    reliability     how far chances are from the shares that fitted, bin by bin (0 is best)
    resolution      how far the shares of the bins are from the share of all (more is better)
    uncertainty     of the outcome itself: share x (1 - share)
    within          what the bins smooth over; 0 where all chances of a bin are equal
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    n: int
    within: float


@dataclass(frozen=True)
class Bin:
    """Calls with a chance in [low, high) (the last bin holds 1 too).

    `low_bound` to `high_bound` is the 95 % interval of Wilson around the share that fitted; it takes the cases as independent,
    and so is too narrow where many stays of the same hours are in it. A bin without cases has NaN in all but its edges.
    """

    low: float
    high: float
    mean_chance: float
    share_fitted: float
    n: int
    low_bound: float
    high_bound: float


@dataclass(frozen=True)
class Calls:
    """Go calls against what the wind then did."""

    hits: int
    false_go: int
    missed: int
    right_no: int
    n: int


def brier(chance: FloatArray, fitted: BoolArray, edges: tuple[float, ...] = TENTHS) -> Brier:
    """The mean squared distance of chances [n] from outcomes [n] (1 fitted, 0 not), with Murphy's parts over bins.

    Source: Brier (1950) and Murphy (1973), the bin remainder as in Stephenson, Coelho and Jolliffe (2008); from memory.
    """
    known, outcome = _cases(chance, fitted)
    n = len(known)
    if n == 0:
        return Brier(math.nan, math.nan, math.nan, math.nan, 0, math.nan)
    counts, chances, shares = _by_bin(known, outcome, edges)
    base = float(outcome.mean())
    score = float(((known - outcome) ** 2).mean())
    reliability = float((counts * (chances - shares) ** 2).sum() / n)
    resolution = float((counts * (shares - base) ** 2).sum() / n)
    uncertainty = base * (1 - base)
    return Brier(score, reliability, resolution, uncertainty, n, score - (reliability - resolution + uncertainty))


def brier_skill(chance: FloatArray, fitted: BoolArray, climate_chance: float | FloatArray) -> float:
    """1 - Brier score / Brier score of the climate's chance (one number, or [n]): 1 is perfect, 0 no better than the climate.

    NaN without a case, or where the climate's chance is itself always right.
    """
    known, outcome = _cases(chance, fitted)
    climate, _ = _cases(np.broadcast_to(np.asarray(climate_chance, dtype=np.float64), known.shape), fitted, "climate_chance")
    if len(known) == 0:
        return math.nan
    reference = float(((climate - outcome) ** 2).mean())
    return 1.0 - float(((known - outcome) ** 2).mean()) / reference if reference > 0 else math.nan


def reliability_table(chance: FloatArray, fitted: BoolArray, edges: tuple[float, ...] = TENTHS) -> tuple[Bin, ...]:
    """What became of the stays called so: one Bin for each pair of neighbouring edges, from 0 to 1, empty ones included."""
    known, outcome = _cases(chance, fitted)
    counts, chances, shares = _by_bin(known, outcome, edges)
    return tuple(
        Bin(low, high, called, share, int(count), *_wilson(share, int(count)))
        for low, high, called, share, count in zip(
            edges[:-1], edges[1:], _or_nan(chances, counts), _or_nan(shares, counts), counts, strict=True
        )
    )


def crps(members: NDArray[np.floating[Any]], observed: FloatArray, *, fair: bool = False) -> float:
    """The mean continuous ranked probability score of members [n, m] against observations [n], in their unit.

    Plain: the members as they are, mean |x - y| - mean |x - x'| / 2 over all pairs. `fair`: as if drawn from a distribution,
    pairs of a member with itself left out (needs 2 members or more). Source: Gneiting and Raftery (2007), Ferro (2014); from
    memory.
    """
    drawn, seen = np.asarray(members, dtype=np.float64), np.asarray(observed, dtype=np.float64)
    if drawn.ndim != 2 or seen.shape != drawn.shape[:1]:
        raise ValueError(f"members and observed: give [n, m] and [n], not {drawn.shape} and {seen.shape}")
    count = drawn.shape[1]
    if count < (2 if fair else 1):
        raise ValueError(f"members: {count} a case are too few; give {2 if fair else 1} or more")
    if not (np.isfinite(drawn).all() and np.isfinite(seen).all()):
        raise ValueError("members and observed: a value is missing; leave its case out first")
    if len(seen) == 0:
        return math.nan
    drawn = np.sort(drawn, axis=1)
    # sum over pairs |x - x'| of sorted members: each gap counts once for every pair it lies between
    weights = 2.0 * np.arange(count) - count + 1.0
    pairs = 2.0 * (drawn @ weights)
    others = count * (count - 1) if fair else count * count
    return float((np.abs(drawn - seen[:, None]).mean(axis=1) - pairs / (2.0 * others)).mean())


def calls(go: BoolArray, fitted: BoolArray) -> Calls:
    """Go calls [n] held against outcomes [n]: rightly gone, gone wrongly, missed, rightly stayed."""
    went, fit = _bools(go, "go"), _bools(fitted, "fitted")
    if went.shape != fit.shape:
        raise ValueError(f"go and fitted: give one of each a case, not {went.shape} and {fit.shape}")
    hits, false_go, missed = (int(np.count_nonzero(both)) for both in (went & fit, went & ~fit, ~went & fit))
    return Calls(hits, false_go, missed, len(went) - hits - false_go - missed, len(went))


def _cases(chance: FloatArray, fitted: BoolArray, name: str = "chance") -> tuple[FloatArray, FloatArray]:
    known, outcome = np.asarray(chance, dtype=np.float64), _bools(fitted, "fitted")
    if known.ndim != 1 or known.shape != outcome.shape:
        raise ValueError(f"{name} and fitted: give one of each a case, not {known.shape} and {outcome.shape}")
    if not ((known >= 0) & (known <= 1)).all():
        raise ValueError(f"{name}: give shares from 0 to 1; a case without one must be left out first")
    return known, outcome.astype(np.float64)


def _bools(values: BoolArray, name: str) -> BoolArray:
    found = np.asarray(values)
    if found.ndim != 1 or (found.dtype != bool and found.size):
        raise ValueError(f"{name}: give true or false a case [n]; a case whose outcome is not known must be left out first")
    return found.astype(bool)


def _by_bin(chance: FloatArray, outcome: FloatArray, edges: tuple[float, ...]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(cases, mean chance, share that fitted) of each bin; 0 where it is empty."""
    if len(edges) < 2 or edges[0] != 0 or edges[-1] != 1 or not (np.diff(edges) > 0).all():
        raise ValueError("edges: they must rise from 0 to 1")
    bins = len(edges) - 1
    place = np.clip(np.searchsorted(np.asarray(edges), chance + HAIR, side="right") - 1, 0, bins - 1)
    counts = np.bincount(place, minlength=bins).astype(np.float64)
    some = np.maximum(counts, 1.0)
    return counts, np.bincount(place, chance, bins) / some, np.bincount(place, outcome, bins) / some


def _or_nan(values: FloatArray, counts: FloatArray) -> list[float]:
    return [float(value) if count else math.nan for value, count in zip(values, counts, strict=True)]


def _wilson(share: float, n: int, z: float = 1.959964) -> tuple[float, float]:
    """The 95 % score interval of a share of n. Source: Wilson (1927), from memory."""
    if n == 0:
        return math.nan, math.nan
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return max(0.0, middle - half), min(1.0, middle + half)
