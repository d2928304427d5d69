"""Limit sets: which weather allows which work, stated with height, averaging and '<' or '<='."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduling.weather.gust import DEFAULT_TURBULENCE
from scheduling.weather.units import VARIABLES, to_kept, unit_choices

HUB = "hub"
OPS = ("<=", "<", ">=", ">")

#: "hub", a height in metres, or None where height does not matter (temperature, visibility)
Height = str | float | None


@dataclass(frozen=True)
class Limit:
    """One limit: the weather is good while `variable op value`.

    unit            of the value; "" means the unit the variable is kept in
    height          "hub" or metres of a wind or gust; None for the rest, where height does not matter
    averaging_min   of the wind meant, in minutes (10 for a 10 min mean, 0.05 for a 3 s gust)
    """

    variable: str
    op: str
    value: float
    unit: str = ""
    height: Height = HUB
    averaging_min: float = 10.0

    def __post_init__(self) -> None:
        choices = unit_choices(self.variable)
        if self.unit and self.unit not in choices:
            raise ValueError(f"{self.variable} limit: unit {self.unit!r} does not fit; choose one of {', '.join(choices)}")
        if self.op not in OPS:
            raise ValueError(f"{self.variable} limit: op {self.op!r} is not known; choose one of {', '.join(OPS)}")
        if isinstance(self.value, bool) or not math.isfinite(self.value):
            raise ValueError(f"{self.variable} limit: give a finite value, not {self.value}")
        if not self.windy and self.height == HUB:
            object.__setattr__(self, "height", None)
        if self.windy and self.height is None:
            raise ValueError(f"{self.variable} limit: say at which height, 'hub' or metres")
        if isinstance(self.height, str) and self.height != HUB:
            raise ValueError(f"{self.variable} limit: height {self.height!r} is not known; give 'hub' or metres")
        if self.windy and not (self.kept_value > 0 and self.op in ("<", "<=")):
            raise ValueError(f"{self.variable} limit: give an upper limit above 0 m/s with '<' or '<='")
        if not self.averaging_min > 0:
            raise ValueError(f"{self.variable} limit: give the averaging in minutes, above 0")

    @property
    def windy(self) -> bool:
        """Whether this is a limit on wind or gust."""
        return self.variable in ("wind", "gust")

    @property
    def kept_value(self) -> float:
        """The value in the unit the variable is kept in, rounded to 1e-9 so that 43.2 km/h is 12 m/s and not a hair more."""
        return round(to_kept(float(self.value), self.unit or VARIABLES[self.variable], self.variable), 9)

    @property
    def is_upper(self) -> bool:
        """Whether the weather must stay below the value."""
        return self.op in ("<", "<=")


@dataclass(frozen=True)
class LimitSet:
    """Named limits that must all hold, and whether it must be daylight.

    gust_factor     gust = factor x mean wind where no gust is forecast; None: an unknown gust blocks
    turbulence      turbulence intensity used where a wind is averaged over longer than a limit asks
    """

    name: str
    limits: tuple[Limit, ...]
    daylight: bool = False
    gust_factor: float | None = None
    turbulence: float = DEFAULT_TURBULENCE

    def __post_init__(self) -> None:
        if not self.limits:
            raise ValueError(f"limit set {self.name!r}: it names no limit; add at least the wind limit")
        if self.gust_factor is not None and not (math.isfinite(self.gust_factor) and self.gust_factor >= 1):
            raise ValueError(f"limit set {self.name!r}: gust_factor is gust over mean wind, 1 or more")


def combine(limit_sets: Iterable[LimitSet]) -> LimitSet:
    """The limit set of a stay whose steps have the given sets: of each kind of limit the tightest, any
    daylight.

    Climb 18, lock 12, hub 10 m/s give 10 (common practice, no source). Limits on another height or averaging
    are another kind and stay beside each other. Raises ValueError when no set is given.
    """
    sets = list(limit_sets)
    if not sets:
        raise ValueError("limit sets: give at least one")
    tightest: dict[tuple[object, ...], Limit] = {}
    for limit in (limit for one in sets for limit in one.limits):
        kind = (limit.variable, limit.height, limit.averaging_min, limit.is_upper)
        tightest[kind] = min(tightest.get(kind, limit), limit, key=_slack)
    factors = [one.gust_factor for one in sets if one.gust_factor is not None]
    return replace(
        sets[0],
        name=" + ".join(dict.fromkeys(one.name for one in sets)),
        limits=tuple(tightest.values()),
        daylight=any(one.daylight for one in sets),
        gust_factor=max(factors) if factors else None,
        turbulence=max(one.turbulence for one in sets),
    )


def check_limit_set(limit_set: LimitSet, cut_in_mps: float) -> None:
    """Raise ValueError when a hub wind limit lies below the turbine's cut-in: such work could only be done in
    a calm.
    """
    for limit in limit_set.limits:
        if limit.windy and limit.height == HUB and limit.kept_value < cut_in_mps:
            raise ValueError(
                f"limit set {limit_set.name!r}: the {limit.variable} limit of {limit.kept_value:g} m/s is below the "
                f"turbine's cut-in of {cut_in_mps:g} m/s; check its unit and value"
            )


def _slack(limit: Limit) -> tuple[float, bool]:
    value = limit.kept_value if limit.is_upper else -limit.kept_value
    return value, limit.op in ("<=", ">=")
