"""Carrying wind from the height it was given at to the hub, and a hub limit back down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import FloatArray, Series, preferred, same_grid

#: IEC 61400-1, normal wind profile: power law with exponent 0.2.
DEFAULT_EXPONENT = 0.2
#: Below this wind two anemometers tell little about shear.
SHEAR_MIN_MPS = 3.0
#: An hour's exponent is kept inside this range: no wind falls with height in a safety calculation.
SHEAR_RANGE = (0.0, 0.6)
#: Two heights tell a shear only if they are this far apart.
SHEAR_RATIO = 1.25

Number = TypeVar("Number", float, NDArray[Any])


def power_law(wind_mps: Number, from_m: float, to_m: float, exponent: Any = DEFAULT_EXPONENT) -> Number:
    """Wind at `to_m` from wind at `from_m`, both metres: v (to/from)^exponent. IEC 61400-1: exponent 0.2.

    `exponent` may be an array that broadcasts with the wind. Raises ValueError for heights not above 0.
    """
    if not (from_m > 0 and to_m > 0):
        raise ValueError("height: give the height of the wind and of the hub in metres, above 0")
    result: Number = wind_mps * (to_m / from_m) ** exponent
    return result


def log_law(wind_mps: Number, from_m: float, to_m: float, roughness_m: float) -> Number:
    """Wind at `to_m` in neutral air over roughness length `roughness_m`: v ln(to/z0)/ln(from/z0).

    Raises ValueError unless both heights are above the roughness length and that above 0.
    """
    if not (roughness_m > 0 and from_m > roughness_m and to_m > roughness_m):
        raise ValueError("roughness_m: give a length above 0 and below both heights, for example 0.03 for open fields")
    return wind_mps * float(np.log(to_m / roughness_m) / np.log(from_m / roughness_m))


def shear_exponent(low_mps: Number, high_mps: Number, low_m: float, high_m: float) -> Number:
    """Exponent between two heights: ln(v2/v1)/ln(z2/z1). Raises ValueError unless 0 < low_m < high_m."""
    if not 0 < low_m < high_m:
        raise ValueError("height: give the lower height first, both above 0 metres")
    with np.errstate(divide="ignore", invalid="ignore"):
        result: Number = np.log(np.divide(high_mps, low_mps)) / np.log(high_m / low_m)
    return result


def limit_at(limit_mps: float, hub_m: float, at_m: float, exponent: float = DEFAULT_EXPONENT) -> float:
    """The wind at `at_m` that means `limit_mps` at the hub: what a forecast for a lower height must stay
    below.
    """
    return power_law(limit_mps, hub_m, at_m, exponent)


@dataclass(frozen=True, eq=False)
class HubWind:
    """Wind at the hub and how it got there.

    exponent    float64 [n], the one used each step
    source      "same height", "two heights", "site" or "default": what most steps used
    from_two    share of steps whose exponent came from two heights
    """

    series: Series
    exponent: FloatArray
    source: str
    from_two: float

    def carry(self, other: Series) -> Series:
        """Another series of the same grid (the gust) carried to the hub by the same exponents."""
        return _carried(other, self.series.height_m, self.exponent)


def to_hub(series: Sequence[Series], hub_m: float, site_exponent: float | FloatArray | None = None) -> HubWind:
    """Carry wind to hub height.

    series          wind series on one grid, in order of trust; the ones nearest the hub (the first, a second
                    boom where the first is missing) are carried, and the first other one at a clearly
                    different height gives the shear of each step where both blow at 3 m/s or more
    site_exponent   used where a step has no shear of its own: one number, or one for each step (see
                    `FittedExponents.on`); None, or 0.2 itself: the default, 0.2 (IEC 61400-1 normal profile)

    Flags travel with the values; a missing value stays missing. Raises ValueError without a wind series, or
    when the grids differ, or exponents do not fit them.
    """
    winds = [one for one in series if one.variable == "wind"]
    if not winds:
        raise ValueError("wind: no wind series was given; name one column as wind in the recipe")
    nearest = min(winds, key=lambda one: abs(one.height_m - hub_m))
    base = preferred([one for one in winds if alike(one, nearest)])
    exponent = _fallback(site_exponent, len(base.values))
    other = next((one for one in winds if _apart(one, base)), None)
    own = np.zeros(len(exponent), dtype=bool)
    if other is not None:
        hourly = step_exponents(base, other)
        own = np.isfinite(hourly)
        exponent = np.where(own, hourly, exponent)
    share = float(own.mean()) if len(own) else 0.0
    return HubWind(_carried(base, hub_m, exponent), exponent, _source(base, hub_m, share, site_exponent), share)


def _fallback(site_exponent: float | FloatArray | None, steps: int) -> FloatArray:
    given = np.asarray(DEFAULT_EXPONENT if site_exponent is None else site_exponent, dtype=np.float64)
    if given.shape not in ((), (steps,)):
        raise ValueError(f"site_exponent: give one number, or one for each of the {steps} steps")
    return np.array(np.broadcast_to(given, (steps,)))


def step_exponents(one: Series, two: Series) -> FloatArray:
    """float64 [n]: exponent of each step, clipped to SHEAR_RANGE; NaN where a value is missing or below 3
    m/s.
    """
    same_steps(one, two)
    low, high = sorted((one, two), key=lambda item: item.height_m)
    below, above = low.usable(), high.usable()
    raw = shear_exponent(below, above, low.height_m, high.height_m)
    blowing = (below >= SHEAR_MIN_MPS) & (above >= SHEAR_MIN_MPS)
    return np.where(blowing, np.clip(raw, *SHEAR_RANGE), np.nan)


def same_steps(one: Series, two: Series) -> None:
    """Raises ValueError unless the two series have a value for exactly the same steps."""
    if not same_grid(one, two):
        raise ValueError(f"{one.name} and {two.name}: the two heights lie on different times; read them from one file")


def alike(one: Series, two: Series) -> bool:
    """Whether one boom can stand in for the other: same height and averaging."""
    return one.height_m == two.height_m and one.averaging_min == two.averaging_min


def _apart(one: Series, base: Series) -> bool:
    low, high = sorted((one.height_m, base.height_m))
    return low > 0 and high / low >= SHEAR_RATIO


def _carried(series: Series, hub_m: float, exponent: FloatArray) -> Series:
    values = power_law(series.values, series.height_m, hub_m, exponent)
    return series.with_values(values, height_m=hub_m)


def _source(base: Series, hub_m: float, share: float, site_exponent: float | FloatArray | None) -> str:
    if base.height_m == hub_m:
        return "same height"
    if share > 0.5:
        return "two heights"
    # A site that carries the default profile has none of its own.
    default = site_exponent is None or bool(np.all(np.asarray(site_exponent) == DEFAULT_EXPONENT))
    return "default" if default else "site"
