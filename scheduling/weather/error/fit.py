"""Fitting the error model to a site's own past forecasts and what was measured then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.error.memory import fit_memory
from scheduling.weather.error.model import DEFAULT_ERROR, SHAPE_AT, SHAPE_Z, ErrorModel, LeadError, over_hours
from scheduling.weather.series import BoolArray, FloatArray

#: Edges of the leads that are looked at together, hours.
LEAD_EDGES_H = (0.0, 3.0, 9.0, 18.0, 30.0, 42.0, 60.0, 84.0, 108.0, 132.0, 168.0, 216.0, 1e9)
#: Below this many days of forecasts at a lead the default stands. Common practice, no source: a spread out of 20 is good to
#: about 16 %. Days and not forecasts, for four forecasts of one day see the same weather.
ENOUGH = 20
#: So many days weigh as much as the default does; three times as many push it down to a quarter.
DEFAULT_WEIGHT = 20.0
#: Bias, pull and ripple are fitted to the same days; weather hangs together for about so many (from memory).
FIGURES, WEATHER_DAYS = 3, 3
#: Percentiles one standard deviation below and above the middle of normal errors.
SIGMA_AT = (15.865, 84.135)


@dataclass(frozen=True, eq=False)
class Course:
    """One past forecast and what was measured: three float64 [t]. NaN where either is missing or flagged.

    day     a number for the day it was issued: forecasts of one day count as one. None: it is its own day
    """

    lead_h: FloatArray
    forecast_mps: FloatArray
    observed_mps: FloatArray
    day: int | None = None

    def __post_init__(self) -> None:
        if not (self.lead_h.ndim == 1 and self.lead_h.shape == self.forecast_mps.shape == self.observed_mps.shape):
            raise ValueError("course: give one lead, forecast and measured value a step")


@dataclass(frozen=True)
class AtLead:
    """What was found around one lead, on how many days and pairs of values: as in LeadError, the spread in m/s."""

    lead_h: float
    days: int
    pairs: int
    bias_mps: float
    pull: float
    ripple: float
    sigma_mps: float


@dataclass(frozen=True)
class ErrorFound:
    """The fitted model, and what it rests on. Without any `by_lead` it is the default."""

    model: ErrorModel
    by_lead: tuple[AtLead, ...]
    forecasts: int
    days: int
    pairs: int


@dataclass(frozen=True, eq=False)
class Pairs:
    """All values of a forecast that could be held against a measured one, one after the other.

    `course` numbers the forecasts and `day` the days they were issued; `apart_mps` is the forecast less its mean over six hours.
    """

    course: NDArray[np.int64]
    day: NDArray[np.int64]
    lead_h: FloatArray
    forecast_mps: FloatArray
    apart_mps: FloatArray
    observed_mps: FloatArray

    def at(self, chosen: BoolArray) -> Pairs:
        """Some of them."""
        return Pairs(*(values[chosen] for values in vars(self).values()))

    @property
    def days(self) -> int:
        """On how many days they were forecast."""
        return len(np.unique(self.day))


def fit_error(courses: Sequence[Course], default: ErrorModel = DEFAULT_ERROR) -> ErrorFound:
    """The error model of a site from its past forecasts.

    Around each of a dozen leads with ENOUGH days: bias, pull and ripple by a regression that large errors
    leave alone (Huber's weights), and the spread of what is left (from its 16th and 84th percentile). Over
    all leads: how the spread goes with the wind, its shape, and its memory. Each number is drawn towards the
    default: of n days, it weighs n / (n + DEFAULT_WEIGHT). With fewer than ENOUGH at every lead the default
    comes back as it is; beyond the last lead with enough, its growth goes on from there. Few days widen the
    spread, for errors of other days are wider than of those a line was drawn through. Common practice, no
    source.
    """
    pairs = pairs_of(courses)
    days, forecasts = pairs.days, len(np.unique(pairs.course))
    parts = [pairs.at(part) for part in stretches(pairs.lead_h)]
    parts = [part for part in parts if part.days >= ENOUGH]
    if not parts:
        return ErrorFound(default, (), forecasts, days, len(pairs.lead_h))
    at_mps = max(1.0, drawn(float(np.median(pairs.forecast_mps)), default.at_mps, days))
    found = tuple(_at_lead(part, at_mps) for part in parts)
    model = replace(default, at_mps=at_mps, bias_mps=0.0, by_lead=tuple(_lead_error(one, default) for one in found))
    model = _with_scale(model, pairs, days)
    model = _with_spread(model, parts, days)
    model = _with_memory(model, pairs, days)
    return ErrorFound(model, found, forecasts, days, len(pairs.lead_h))


def pairs_of(courses: Sequence[Course]) -> Pairs:
    """The pairs of many courses; whatever is not known is left out."""
    none = np.empty(0)
    if not courses:
        return Pairs(none.astype(np.int64), none.astype(np.int64), none, none, none, none)
    steps = [len(one.lead_h) for one in courses]
    number = np.repeat(np.arange(len(courses)), steps)
    day = np.repeat([-1 - at if one.day is None else one.day for at, one in enumerate(courses)], steps)
    lead_h, forecast, observed = (
        np.concatenate([getattr(one, name) for one in courses]) for name in ("lead_h", "forecast_mps", "observed_mps")
    )
    apart = forecast - np.concatenate([over_hours(one.forecast_mps, one.lead_h) for one in courses])
    known = np.isfinite(forecast) & np.isfinite(observed) & (lead_h >= 0)
    return Pairs(number, day, lead_h, forecast, apart, observed).at(known)


def standard_errors(model: ErrorModel, pairs: Pairs) -> FloatArray:
    """float64 [n]: measured - expected, in the spread the model gives that lead and wind."""
    expected = _expected(model, pairs)
    errors: FloatArray = (pairs.observed_mps - expected) / (model.sigma_mps(pairs.lead_h) * model.scale(expected))
    return errors


def _expected(model: ErrorModel, pairs: Pairs) -> FloatArray:
    at = [[getattr(one, name) for one in model.by_lead] for name in ("lead_h", "bias_mps", "pull", "ripple")]
    bias, pull, ripple = (np.interp(pairs.lead_h, at[0], values) for values in at[1:])
    expected: FloatArray = pairs.forecast_mps + bias + pull * (pairs.forecast_mps - model.at_mps) + ripple * pairs.apart_mps
    return expected


def stretches(lead_h: FloatArray) -> list[BoolArray]:
    """bool [n] for each stretch of leads that is looked at together: the pairs in it."""
    return [(lead_h >= low) & (lead_h < high) for low, high in pairwise(LEAD_EDGES_H)]


def near(lead_h: FloatArray, of_h: float) -> BoolArray:
    """bool [n]: the pairs of the stretch of leads that `of_h` lies in."""
    return next(part for part, here in zip(stretches(lead_h), stretches(np.array([of_h])), strict=True) if here[0])


def _at_lead(pairs: Pairs, at_mps: float) -> AtLead:
    off = pairs.observed_mps - pairs.forecast_mps
    known = np.column_stack([np.ones(len(off)), pairs.forecast_mps - at_mps, pairs.apart_mps])
    bias, pull, ripple = line = _share(pairs.days) * huber_line(known, off)
    sigma = robust_sigma(off - known @ line)
    return AtLead(float(pairs.lead_h.mean()), pairs.days, len(off), float(bias), float(pull), float(ripple), sigma)


def huber_line(x: FloatArray, y: FloatArray, rounds: int = 8) -> FloatArray:
    """float64 [k]: c of y = x c (x [n, k]), values further off than 1.5 spreads weighing less (Huber 1964, from memory)."""
    weight = np.ones(len(y))
    found = np.zeros(x.shape[1])
    for _ in range(rounds):
        # A hair on the diagonal: a forecast without ripple (6-hourly steps) has a column of zeros.
        normal = (x * weight[:, None]).T @ x + 1e-9 * len(y) * np.eye(x.shape[1])
        found = np.asarray(np.linalg.solve(normal, x.T @ (weight * y)), dtype=np.float64)
        rest = np.abs(y - x @ found)
        bound = 1.5 * max(float(np.median(rest)) / 0.6745, 1e-6)
        weight = np.minimum(1.0, bound / np.maximum(rest, 1e-9))
    return found


def robust_sigma(errors: FloatArray) -> float:
    """Half the width of the middle 68 %: the standard deviation of normal errors, and untouched by a few outliers."""
    return float(np.diff(np.percentile(errors, SIGMA_AT))[0] / 2)


def _lead_error(one: AtLead, default: ErrorModel) -> LeadError:
    usual = float(default.sigma_mps(np.array([one.lead_h]))[0])
    return LeadError(one.lead_h, one.bias_mps, one.pull, one.ripple, drawn(one.sigma_mps / usual, 1.0, one.days))


def _with_scale(model: ErrorModel, pairs: Pairs, days: int) -> ErrorModel:
    """How much of the spread goes with the wind: the share under which errors are likeliest (long-tailed)."""
    expected = _expected(model, pairs)
    off = np.abs(pairs.observed_mps - expected) / model.sigma_mps(pairs.lead_h)

    def unlikely(relative: float) -> float:
        scale = replace(model, relative=relative).scale(expected)
        return float(np.log(scale).mean() + np.log((off / scale).mean() + 1e-9))

    best = min((n / 20 for n in range(21)), key=unlikely)
    return replace(model, relative=drawn(best, model.relative, days))


def _with_spread(model: ErrorModel, parts: Sequence[Pairs], days: int) -> ErrorModel:
    """The spread of each lead anew, now that what goes with the wind is known, and the shape of all errors.

    Both from the windier half, where limits lie: errors of calms have another shape, and no stay hangs on them.
    """
    by_lead = []
    for at, part in zip(model.by_lead, parts, strict=True):
        wide = robust_sigma(standard_errors(model, _windier(model, part)))
        by_lead.append(replace(at, spread=at.spread * drawn(wide, 1.0, part.days) * doubt(part.days)))
    model = replace(model, by_lead=tuple(by_lead))
    errors = np.concatenate([standard_errors(model, _windier(model, part)) for part in parts])
    return replace(model, shape=_shape(errors, days))


def doubt(days: int) -> float:
    """How much wider errors of other days are than those a line was drawn through: sqrt(1 + figures / independent cases)."""
    return float(np.sqrt(1.0 + FIGURES * WEATHER_DAYS / days))


def _windier(model: ErrorModel, pairs: Pairs) -> Pairs:
    expected = _expected(model, pairs)
    return pairs.at(expected >= np.median(expected))


def _shape(errors: FloatArray, days: int) -> tuple[float, ...]:
    """The errors' quantiles at SHAPE_AT, drawn towards those of a normal error, each above the one before."""
    own = np.quantile(errors, SHAPE_AT)
    mixed = [drawn(float(value), z, days) for value, z in zip(own, SHAPE_Z, strict=True)]
    return tuple(float(value) for value in np.maximum.accumulate(mixed) + np.arange(len(mixed)) * 1e-6)


def _with_memory(model: ErrorModel, pairs: Pairs, days: int) -> ErrorModel:
    """How long errors last, the default's memory beside it."""
    quick, quick_h, memory_h, smooth = fit_memory(model.normal(standard_errors(model, pairs)), pairs.lead_h, pairs.course)
    memory_h = float(np.exp(drawn(np.log(memory_h), np.log(model.memory_h), days)))
    return replace(model, quick=_share(days) * quick, quick_h=quick_h, memory_h=memory_h, smooth=smooth)


def _share(days: int) -> float:
    return days / (days + DEFAULT_WEIGHT)


def drawn(own: float, default: float, days: int) -> float:
    """What was found on `days` days, drawn towards the default."""
    share = _share(days)
    return share * own + (1 - share) * default
