"""Members that come as an ensemble, set right: raw ensembles are too narrow, and their mean is off like any forecast."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np

from scheduling.weather.error.fit import AtLead, Course, doubt, drawn, fit_error, near, robust_sigma
from scheduling.weather.error.model import DEFAULT_ERROR, ErrorModel, model_from_json, model_to_json
from scheduling.weather.error.sampling import Members, errors_of
from scheduling.weather.series import FloatArray

#: Members are drawn apart or together by a factor in this range.
FACTORS = tuple(n / 10 for n in range(2, 31))
#: What is left over is added as noise of its own, in m/s.
FLOORS_MPS = tuple(n / 10 for n in range(61))


@dataclass(frozen=True)
class LeadSpread:
    """What was found at one lead: members `factor` times as far from their mean, and noise of `floor_mps` on each."""

    lead_h: float
    factor: float
    floor_mps: float


@dataclass(frozen=True)
class EnsembleModel:
    """How raw members become members that can be trusted.

    The ensemble's mean is corrected by `mean` (bias, pull and ripple by lead). Each member keeps its own course: its distance
    from the mean is stretched by `factor`. Noise of `floor_mps` with the memory of `mean` is added, for what no member knows:
    the mast is a point and the model a box, and a week ahead the raw spread tells little of the error. `by_lead` stands in for
    both where it is given, straight between its leads and level beyond them.

    The defaults: factor 1.5 and floor 1.0 m/s (as `start_mps` of a single forecast); common practice, no source. They take a
    published 8-member set in which 43 of 66 observations lie outside the range (2 in 9 would if it were reliable) as a
    warning: were its mean unbiased, its spread would have to be 3.1 times as large.
    """

    factor: float = 1.5
    floor_mps: float = 1.0
    mean: ErrorModel = field(default=DEFAULT_ERROR)
    by_lead: tuple[LeadSpread, ...] = ()

    def __post_init__(self) -> None:
        both = [(self.factor, self.floor_mps), *((one.factor, one.floor_mps) for one in self.by_lead)]
        if not all(math.isfinite(x) and math.isfinite(y) and x > 0 and y >= 0 for x, y in both):
            raise ValueError("ensemble model: factor must be above 0, floor_mps 0 or more")
        leads = [one.lead_h for one in self.by_lead]
        if not all(math.isfinite(lead) for lead in leads) or any(one >= two for one, two in pairwise(leads)):
            raise ValueError("ensemble model: the leads of `by_lead` must rise")

    def spread_at(self, lead_h: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(factor, floor in m/s), float64 [t] each."""
        if not self.by_lead:
            return np.full(len(lead_h), self.factor), np.full(len(lead_h), self.floor_mps)
        leads = [one.lead_h for one in self.by_lead]
        factor = np.interp(lead_h, leads, [one.factor for one in self.by_lead])
        return factor, np.interp(lead_h, leads, [one.floor_mps for one in self.by_lead])


DEFAULT_ENSEMBLE = EnsembleModel()


@dataclass(frozen=True, eq=False)
class EnsembleCourse:
    """One past ensemble and what was measured: leads and measured float64 [t], members float64 [m, t]; NaN where unknown.

    day     as in Course
    """

    lead_h: FloatArray
    members_mps: FloatArray
    observed_mps: FloatArray
    day: int | None = None

    def __post_init__(self) -> None:
        steps = self.lead_h.shape
        if self.members_mps.ndim != 2 or self.members_mps.shape[1:] != steps or self.observed_mps.shape != steps:
            raise ValueError("ensemble course: give leads and measured values [t] and members [m, t]")


@dataclass(frozen=True)
class EnsembleFound:
    """The fitted model, and what it rests on; `by_lead` is the mean's. Without any it is the default.

    `outside` is the share of measured values outside the raw members' range.
    """

    model: EnsembleModel
    by_lead: tuple[AtLead, ...]
    forecasts: int
    days: int
    pairs: int
    outside: float


def calibrated(
    members_mps: FloatArray,
    lead_h: FloatArray,
    *,
    seed: int,
    count: int | None = None,
    model: EnsembleModel = DEFAULT_ENSEMBLE,
) -> Members:
    """float32 [..., members, t] in m/s: raw members [..., m, t] drawn to where and as far apart as they should be.

    lead_h      float64 [t], hours from the issue to each step, rising evenly
    count       members wanted; beyond m the raw ones serve again, each time with other noise. None: m as they came

    Time courses stay: a member that brings the front early brings it early still. A step at which any member is missing is NaN
    in all. Raises ValueError when the shapes do not fit or count is below 1.
    """
    if members_mps.ndim < 2 or lead_h.shape != members_mps.shape[-1:] or members_mps.shape[-2] < 1:
        raise ValueError(f"members: give [..., members, t] and one lead a step, not {members_mps.shape} and {lead_h.shape}")
    wanted = members_mps.shape[-2] if count is None else count
    if wanted < 1:
        raise ValueError("count: give 1 member or more")
    middle = members_mps.mean(axis=-2, keepdims=True)
    apart = (members_mps - middle)[..., np.arange(wanted) % members_mps.shape[-2], :]
    expected = model.mean.expected_mps(middle, lead_h)
    factor, floor = model.spread_at(lead_h)
    noise = floor * errors_of(model.mean, lead_h, wanted, seed)
    right: Members = np.asarray(expected + factor * apart + noise, dtype=np.float32)
    return np.maximum(right, np.float32(0.0), out=right)


def fit_ensemble(courses: Sequence[EnsembleCourse], default: EnsembleModel = DEFAULT_ENSEMBLE) -> EnsembleFound:
    """The ensemble model of a site from its past ensembles and what was measured.

    The mean is fitted as a single forecast is. Factor and floor of each stretch of leads: for the narrow, the middling and the
    wide third of its ensembles the squared width of what is left should be floor^2 + factor^2 x the mean raw variance
    (spread-error regression, common practice); the pair of numbers that comes closest wins. With fewer than ENOUGH days the
    default comes back; of n days, what was found weighs n / (n + DEFAULT_WEIGHT).
    """
    means = [Course(one.lead_h, one.members_mps.mean(axis=0), one.observed_mps, one.day) for one in courses]
    found = fit_error(means, default.mean)
    outside = _outside(courses)
    if not found.by_lead:
        return EnsembleFound(default, (), found.forecasts, found.days, found.pairs, outside)
    raw, rest, lead_h = _raw_and_rest(courses, found.model)
    parts = [(one, near(lead_h, one.lead_h)) for one in found.by_lead]
    spreads = [_lead_spread(raw[part], rest[part], one, default) for one, part in parts]
    # The noise is laid on in m/s: its memory is the mean's, its spread the floor.
    model = EnsembleModel(default.factor, default.floor_mps, replace(found.model, shape=()), tuple(spreads))
    return EnsembleFound(model, found.by_lead, found.forecasts, found.days, found.pairs, outside)


def _raw_and_rest(courses: Sequence[EnsembleCourse], model: ErrorModel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(raw variance, measured - expected, lead) of every pair."""
    raw = np.concatenate([one.members_mps.var(axis=0, ddof=1) for one in courses])
    rest = np.concatenate([one.observed_mps - model.expected_mps(one.members_mps.mean(axis=0), one.lead_h) for one in courses])
    lead_h = np.concatenate([one.lead_h for one in courses])
    known = np.isfinite(raw) & np.isfinite(rest) & (lead_h >= 0)
    return raw[known], rest[known], lead_h[known]


def _lead_spread(raw: FloatArray, rest: FloatArray, at: AtLead, default: EnsembleModel) -> LeadSpread:
    """Factor and floor of one stretch of leads, drawn towards the default's."""
    parts = np.array_split(np.argsort(raw), 3)
    variance = np.array([raw[part].mean() for part in parts])
    wide = np.array([robust_sigma(rest[part]) for part in parts])
    factor, floor = _closest(variance, wide**2)
    factor, floor = drawn(factor, default.factor, at.days), drawn(floor, default.floor_mps, at.days)
    return LeadSpread(at.lead_h, factor * doubt(at.days), floor * doubt(at.days))


def _closest(raw: FloatArray, wide: FloatArray) -> tuple[float, float]:
    """(factor, floor) with floor^2 + factor^2 raw nearest to `wide`, squared all; too wide by a fifth is as bad as too narrow."""
    told = np.array(FLOORS_MPS)[None, None, :] ** 2 + np.array(FACTORS)[None, :, None] ** 2 * raw[:, None, None]
    misfit = (np.log(np.maximum(told, 1e-4) / np.maximum(wide, 1e-4)[:, None, None]) ** 2).sum(axis=0)
    at = np.unravel_index(int(misfit.argmin()), misfit.shape)
    return FACTORS[at[0]], FLOORS_MPS[at[1]]


def _outside(courses: Sequence[EnsembleCourse]) -> float:
    """The share of measured values outside the range of the raw members; NaN without one."""
    pairs = beyond = 0
    for one in courses:
        known = np.isfinite(one.members_mps).all(axis=0) & np.isfinite(one.observed_mps)
        low, high = one.members_mps[:, known].min(axis=0), one.members_mps[:, known].max(axis=0)
        observed = one.observed_mps[known]
        pairs += len(observed)
        beyond += int(((observed < low) | (observed > high)).sum())
    return beyond / pairs if pairs else math.nan


def ensemble_to_json(model: EnsembleModel) -> dict[str, Any]:
    """The model as plain data."""
    return {**asdict(model), "mean": model_to_json(model.mean)}


def ensemble_from_json(data: Mapping[str, Any]) -> EnsembleModel:
    """The model that `ensemble_to_json` wrote. Raises ValueError when it is none."""
    try:
        by_lead = tuple(LeadSpread(**one) for one in data["by_lead"])
        return EnsembleModel(data["factor"], data["floor_mps"], model_from_json(data["mean"]), by_lead)
    except (KeyError, TypeError) as error:
        raise ValueError(f"ensemble model: this is none ({error}); fit the site's forecasts anew") from error
