"""The sentences beside a site's climate: which years, how the wind came to the hub, what is left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from planner.models import Site
from scheduling.access import LimitSet
from scheduling.builders.past import MOST_STEP_MIN, Hours, Stretch
from scheduling.models import WeatherSet
from scheduling.weather.climate import LEAST_YEARS, MOST_UNKNOWN, Past, Table
from scheduling.weather.gust import averaging_factor
from scheduling.weather.height import HubWind
from scheduling.weather.series import Series

NO_HISTORY = "No past weather of this site is stored, so nothing is known of its climate: import past years (kind: past years)."
NO_TURBINE = "The site has no turbine, so no hub height to carry the wind to: add its turbines in the register."


def notes_of(
    site: Site, core: LimitSet, pasts: Sequence[Past], stretches: Sequence[Stretch], workable: Table, hours: Hours
) -> Iterator[str]:
    """What a reader must know to use the figures."""
    yield _years(workable)
    yield (
        f"Weeks are ISO weeks by the site's local date ({site.time_zone}), all seven days; 29 February lies in its own week, "
        "and week 53 has figures of long years only."
    )
    light = " in daylight" if core.daylight else ""
    yield f"Counted are all hours{light}." if hours.all_day else f"Counted are the hours{light} from {hours} of the local clock."
    yield from _left_out(workable)
    yield from _rounded(pasts)
    yield from _averaging(core, stretches)
    yield from _gusts(core, stretches)
    if len(pasts) > 1:
        yield f"{len(pasts)} records of different kind are used; where two know the same week, the older record's figure stands."


def shear_words(hubs: Sequence[HubWind], series: Sequence[Sequence[Series]], hub_m: float) -> str:
    """How the wind came to the hub, for each record."""
    return "; ".join(dict.fromkeys(_shear(hub, own, hub_m) for hub, own in zip(hubs, series, strict=True)))


def skipped(rows: Sequence[WeatherSet], real: Sequence[WeatherSet]) -> str:
    """Which of the stored sets were not used: those the demo made up, and those too coarse."""
    made = len(rows) - len(real)
    coarse = sum(row.step_min > MOST_STEP_MIN for row in real)
    parts = []
    if made:
        parts.append(f"{made} made-up years of the demo are left out: only weather that was is counted.")
    if coarse:
        parts.append(f"{coarse} past records with steps over {MOST_STEP_MIN} min are left out: they do not know each hour.")
    return " ".join(parts)


def spans(numbers: Sequence[int]) -> str:
    """1 to 3, 7 and 9 to 12."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _years(workable: Table) -> str:
    known = np.isfinite(workable.values).sum(axis=0)
    if not len(workable.years) or not known.any():
        return "No whole week of the past weather is known, so there are no figures."
    most = int(known.max())
    named = f"From past weather of {spans(workable.years)}; a week is known in {most} year{'s' if most > 1 else ''} at most"
    if most < LEAST_YEARS:
        return f"{named}: fewer than {LEAST_YEARS}, so means and ranges only and no quantiles."
    return f"{named}, and quantiles are given where at least {LEAST_YEARS} know it."


def _left_out(workable: Table) -> Iterator[str]:
    gone = [
        f"{year}: week{'s' if row.sum() > 1 else ''} {spans([int(n) + 1 for n in np.flatnonzero(row)])}"
        for year, row in zip(workable.years, workable.left_out, strict=True)
        if row.any()
    ]
    if gone:
        yield f"Left out, more than {100 * MOST_UNKNOWN:g} % of the hours unknown: {'; '.join(gone)}."


def _rounded(pasts: Sequence[Past]) -> Iterator[str]:
    for step in sorted({past.grid.step_min for past in pasts}):
        steps = next(past.steps for past in pasts if past.grid.step_min == step)
        yield f"On a record of {step} min steps the stay takes {steps} whole steps ({steps * step} min)."


def _averaging(core: LimitSet, stretches: Sequence[Stretch]) -> Iterator[str]:
    means = {one.averaging_min for stretch in stretches for one in stretch.series if one.variable == "wind"}
    winds = [limit for limit in core.limits if limit.variable == "wind"]
    for mean in sorted(means):
        for limit in winds:
            factor = averaging_factor(mean, limit.averaging_min, core.turbulence)
            if factor > 1.0:
                yield (
                    f"Means over {mean:g} min hide peaks: for the limit on {limit.averaging_min:g} min they count {factor:.3f} "
                    "times as high."
                )


def _gusts(core: LimitSet, stretches: Sequence[Stretch]) -> Iterator[str]:
    asked = any(limit.variable == "gust" for limit in core.limits)
    without = [one for one in stretches if not any(series.variable == "gust" for series in one.series)]
    if asked and without and core.gust_factor:
        yield f"The past weather holds no gusts{_of_some(without, stretches)}: they count as {core.gust_factor:g} times the mean."


def _of_some(some: Sequence[Stretch], every: Sequence[Stretch]) -> str:
    return "" if len(some) == len(every) else f" in {len(some)} of {len(every)} records"


def _shear(hub: HubWind, series: Sequence[Series], hub_m: float) -> str:
    heights = {one.height_m for one in series if one.variable == "wind"}
    nearest = min(heights, key=lambda height: abs(height - hub_m))
    if hub.source == "same height":
        return f"wind measured at the hub height of {hub_m:g} m"
    used = float(np.median(hub.exponent))
    how = {
        "two heights": f"shear of each hour from two heights (median exponent {used:.2f})",
        "site": f"power law with the site's exponent {used:g}",
        "default": f"power law with the usual exponent {used:g}",
    }[hub.source]
    return f"wind carried from {nearest:g} m to the highest hub, {hub_m:g} m: {how}"
