"""How far off past forecasts were in wind, by lead day: as they came, and as the members that are made of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduling.weather.error.ensemble import EnsembleCourse, EnsembleModel, calibrated
from scheduling.weather.error.model import ErrorModel
from scheduling.weather.error.sampling import Members, members_of
from scheduling.weather.scores import crps
from scheduling.weather.series import FloatArray

MEMBERS = 20


@dataclass(frozen=True)
class WindScore:
    """Of one lead day (1: the first 24 h): hours compared, and the CRPS in m/s of the members and of the forecast as it came.

    For a single line the CRPS is its mean absolute error.
    """

    lead_day: int
    hours: int
    members_mps: float
    forecast_mps: float


def wind_scores(courses: Sequence[EnsembleCourse], single: ErrorModel, ensemble: EnsembleModel) -> tuple[WindScore, ...]:
    """One score for each lead day with something to compare, in order; seeded by the place in `courses`.

    The models may have been fitted to these very courses: then the members' score is a little better than on new ones.
    """
    parts: dict[int, list[tuple[int, float, float]]] = defaultdict(list)
    for seed, course in enumerate(courses):
        drawn = _members(course, single, ensemble, seed)
        known = np.isfinite(course.observed_mps) & np.isfinite(drawn).all(axis=0) & (course.lead_h >= 0)
        day = (course.lead_h // 24).astype(int) + 1
        for this in np.unique(day[known]).tolist():
            here = known & (day == this)
            seen = course.observed_mps[here]
            parts[this].append((len(seen), crps(drawn[:, here].T, seen), crps(course.members_mps[:, here].T, seen)))
    return tuple(_score(day, np.array(parts[day])) for day in sorted(parts))


def _members(course: EnsembleCourse, single: ErrorModel, ensemble: EnsembleModel, seed: int) -> Members:
    if len(course.members_mps) == 1:
        return members_of(course.members_mps[0], course.lead_h, count=MEMBERS, seed=seed, model=single)
    return calibrated(course.members_mps, course.lead_h, seed=seed, count=MEMBERS, model=ensemble)


def _score(day: int, parts: FloatArray) -> WindScore:
    hours = parts[:, 0]
    mean = (parts * hours[:, None]).sum(axis=0) / hours.sum()
    return WindScore(day, int(hours.sum()), round(float(mean[1]), 3), round(float(mean[2]), 3))
