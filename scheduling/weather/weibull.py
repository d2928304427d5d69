"""Two-parameter Weibull wind statistics: the closed forms that counts on a series are checked against."""

from __future__ import annotations

import math

HOURS_A_YEAR = 8760.0


def mean_mps(scale_mps: float, shape: float) -> float:
    """Mean wind: A Gamma(1 + 1/k). Raises ValueError unless both parameters are above 0."""
    _check(scale_mps, shape)
    return scale_mps * math.gamma(1.0 + 1.0 / shape)


def share_above(wind_mps: float, scale_mps: float, shape: float) -> float:
    """Share of time the wind exceeds `wind_mps`: exp(-(x/A)^k)."""
    _check(scale_mps, shape)
    return math.exp(-((wind_mps / scale_mps) ** shape))


def workable_h_a_year(limit_mps: float, scale_mps: float, shape: float) -> float:
    """Hours of a year at or below a limit, windows and seasons left aside: 8760 (1 - exp(-(x/A)^k)).

    A 8, k 2: 7836.7 h at 12 m/s. A closed form: name it as an estimate where it stands for a count.
    """
    return HOURS_A_YEAR * (1.0 - share_above(limit_mps, scale_mps, shape))


def median_mps(scale_mps: float, shape: float) -> float:
    """Median wind: A (ln 2)^(1/k)."""
    _check(scale_mps, shape)
    return scale_mps * float(math.log(2.0) ** (1.0 / shape))


def rayleigh_share_above(wind_mps: float, mean: float) -> float:
    """Share of time above `wind_mps` for shape 2 and the given mean: exp(-(pi/4)(x/m)^2)."""
    return math.exp(-math.pi / 4.0 * (wind_mps / mean) ** 2)


def energy_pattern_factor(shape: float) -> float:
    """Mean of the cube over the cube of the mean: Gamma(1+3/k) / Gamma(1+1/k)^3."""
    _check(1.0, shape)
    return math.gamma(1.0 + 3.0 / shape) / math.gamma(1.0 + 1.0 / shape) ** 3


def power_density_w_m2(scale_mps: float, shape: float, density_kg_m3: float) -> float:
    """Mean power in the wind per square metre: rho/2 A^3 Gamma(1+3/k)."""
    _check(scale_mps, shape)
    return 0.5 * density_kg_m3 * scale_mps**3 * math.gamma(1.0 + 3.0 / shape)


def _check(scale_mps: float, shape: float) -> None:
    if not (scale_mps > 0 and shape > 0):
        raise ValueError("scale and shape: give two numbers above 0")
