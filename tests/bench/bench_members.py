"""Members for a fleet and their memory, beside a plain Python loop over a part of the same work measured in the same run."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Iterator
from time import perf_counter
from typing import Any

import numpy as np

from scheduling.access import fitting_starts
from scheduling.weather.error import Course, EnsembleModel, ErrorModel, calibrated, fit_error, members_of

CASES = ("single", "ensemble", "year")
TURBINES, MEMBERS, SLOTS = 200, 50, 10 * 48
LEAD_H = np.arange(SLOTS) / 2.0
#: The loop looks at this many turbines; its time is scaled up to the whole.
LOOP_TURBINES = 2
SITES, YEAR_MEMBERS, HOURS = 300, 20, 8760


def run(case: str, seed: int) -> dict[str, Any]:
    """A row with `case`, `seed`, `seconds`, `ratio` (how many times longer the plain loop takes) and `peak_mb` of arrays."""
    return {"seed": seed, **{"single": _single, "ensemble": _ensemble, "year": _year}[case](seed)}


def fitted_model(seed: int) -> ErrorModel:
    """Every part of the model in use, as after a fit."""
    rng = np.random.default_rng(seed)
    lead_h = np.arange(240.0)
    forecast = rng.gamma(4.0, 2.2, (60, 240))
    observed = forecast + np.cumsum(rng.normal(0.0, 0.3, (60, 240)), axis=1)
    return fit_error([Course(lead_h, one, two) for one, two in zip(forecast, observed, strict=True)]).model


def _single(seed: int) -> dict[str, Any]:
    forecast = np.random.default_rng(seed).gamma(4.0, 2.2, (TURBINES, SLOTS))
    model = fitted_model(seed)
    seconds, peak = measured(lambda: members_of(forecast, LEAD_H, count=MEMBERS, seed=seed, model=model))
    part, _ = measured(lambda: _loop(forecast[:LOOP_TURBINES], seed), trace=False)
    return _row(f"members {TURBINES} turbines x 10 d x {MEMBERS} members, half hours", seconds, part, peak)


def _ensemble(seed: int) -> dict[str, Any]:
    raw = np.random.default_rng(seed).gamma(4.0, 2.2, (TURBINES, MEMBERS, SLOTS)).astype(np.float32)
    model = EnsembleModel(1.6, 0.8, fitted_model(seed))
    seconds, peak = measured(lambda: calibrated(raw, LEAD_H, seed=seed, model=model))
    part, _ = measured(lambda: _loop_ensemble(raw[:LOOP_TURBINES], seed), trace=False)
    return _row(f"ensembles of {MEMBERS} set right, {TURBINES} turbines x 10 d, half hours", seconds, part, peak)


def _year(seed: int) -> dict[str, Any]:
    """A year of hours for many sites: one site's members at a time, of which only shares are kept."""
    rng = np.random.default_rng(seed)
    model = fitted_model(seed)
    seconds, peak = measured(lambda: list(_site_years(rng, model)))
    part, _ = measured(lambda: _loop(rng.gamma(4.0, 2.2, (1, HOURS)), seed, YEAR_MEMBERS), trace=False)
    return _row(f"a year of hours x {YEAR_MEMBERS} members x {SITES} sites, 4 h stays", seconds, part, peak, SITES)


def _site_years(rng: np.random.Generator, model: ErrorModel) -> Iterator[np.ndarray]:
    lead_h = np.arange(float(HOURS))
    for site in range(SITES):
        wind = rng.gamma(4.0, 2.2, HOURS)
        good = members_of(wind, lead_h, count=YEAR_MEMBERS, seed=site, model=model) <= 12.0
        yield fitting_starts(good, 4).mean(axis=0, dtype=np.float32)


def _loop(forecast: np.ndarray, seed: int, members: int = MEMBERS) -> list[list[list[float]]]:
    """The same by hand: an error that remembers, its spread growing with lead and wind."""
    rng = np.random.default_rng(seed)
    out = []
    for turbine in forecast.tolist():
        drawn = []
        for _ in range(members):
            slow = quick = 0.0
            member = []
            for step, wind in enumerate(turbine):
                slow = 0.95 * slow + 0.312 * rng.standard_normal()
                quick = 0.6 * quick + 0.8 * rng.standard_normal()
                spread = (1.0 + 11.6 * (1.0 - 0.99 ** (step / 2.0))) ** 0.5 * min(1.5, max(0.5, 0.5 + wind / 16.0))
                member.append(max(0.0, wind + spread * (0.9 * slow + 0.43 * quick)))
            drawn.append(member)
        out.append(drawn)
    return out


def _loop_ensemble(raw: np.ndarray, seed: int) -> list[list[list[float]]]:
    rng = np.random.default_rng(seed)
    out = []
    for turbine in raw.tolist():
        means = [sum(step) / len(step) for step in zip(*turbine, strict=True)]
        members = []
        for one in turbine:
            noise, member = 0.0, []
            for wind, mean in zip(one, means, strict=True):
                noise = 0.95 * noise + 0.312 * rng.standard_normal()
                member.append(max(0.0, mean + 1.6 * (wind - mean) + 0.8 * noise))
            members.append(member)
        out.append(members)
    return out


def measured(work: Callable[[], Any], trace: bool = True) -> tuple[float, float]:
    """(seconds, peak of memory in MB): timed without tracing, and for the peak a second time with it."""
    begun = perf_counter()
    work()
    seconds = perf_counter() - begun
    if not trace:
        return seconds, 0.0
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    return seconds, peak


def _row(case: str, seconds: float, part: float, peak: float, scale: float = TURBINES / LOOP_TURBINES) -> dict[str, Any]:
    ratio = part * scale / seconds
    return {"case": case, "seconds": round(seconds, 3), "ratio": round(ratio, 1), "peak_mb": round(peak)}


if __name__ == "__main__":
    for name in CASES:
        print(run(name, 1))
