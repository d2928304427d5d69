"""Limit sets: which weather allows which work, stated with height, averaging, time to stay clear, and '<' or '<='."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduling.access.heat import CLASS_W
from scheduling.weather.gust import DEFAULT_TURBULENCE
from scheduling.weather.units import VARIABLES, to_kept, unit_choices

HUB = "hub"
OPS = ("<=", "<", ">=", ">")

#: Variables whose danger lies above the limit only, and those where it lies below only; the rest take both kinds.
UPPER_ONLY = frozenset({"wind", "gust", "rain", "lightning_probability", "icing_probability", "wbgt", "wave_height"})
LOWER_ONLY = frozenset({"visibility", "lightning_distance", "wind_chill", "work_share", "dew_point_spread"})
#: Variables that depend on the height in the wind.
AT_HEIGHT = frozenset({"wind", "gust", "wind_chill"})
#: Variables that are warmer inside the nacelle than outside.
INSIDE = frozenset({"temperature", "wbgt", "work_share"})
MOST_CLEAR_MIN = 1440.0
MOST_OFFSET_C = 40.0

#: "hub", a height in metres, or None where height does not matter (temperature, visibility)
Height = str | float | None


@dataclass(frozen=True)
class Limit:
    """One limit: the weather is good while `variable op value`.

    unit            of the value; "" means the unit the variable is kept in
    height          "hub" or metres of a wind, gust or felt cold; None for the rest, where height does not matter
    averaging_min   of the wind meant, in minutes (10 for a 10 min mean, 0.05 for a 3 s gust)
    clear_after_min stop at once, back only when the limit has held for so many minutes; each value past it starts the
                    clock again
    offset_c        by how much the nacelle is warmer than outside, for a limit on what is felt inside
    metabolic_class ISO 7243 class of the work, 0 resting to 4 very high, and `acclimatised` whether the people are used to
                    the heat: asked for by a limit on the work share
    """

    variable: str
    op: str
    value: float
    unit: str = ""
    height: Height = HUB
    averaging_min: float = 10.0
    clear_after_min: float = 0.0
    offset_c: float = 0.0
    metabolic_class: int | None = None
    acclimatised: bool = False

    def __post_init__(self) -> None:
        choices = unit_choices(self.variable)
        if self.unit and self.unit not in choices:
            raise ValueError(f"{self.variable} limit: unit {self.unit!r} does not fit; choose one of {', '.join(choices)}")
        if self.op not in OPS:
            raise ValueError(f"{self.variable} limit: op {self.op!r} is not known; choose one of {', '.join(OPS)}")
        if isinstance(self.value, bool) or not math.isfinite(self.value):
            raise ValueError(f"{self.variable} limit: give a finite value, not {self.value}")
        if not self.at_height and self.height == HUB:
            object.__setattr__(self, "height", None)
        complaint = _height_fault(self) or _value_fault(self) or _heat_fault(self) or _time_fault(self)
        if complaint:
            raise ValueError(f"{self.variable} limit: {complaint}")

    @property
    def windy(self) -> bool:
        """Whether this is a limit on wind or gust."""
        return self.variable in ("wind", "gust")

    @property
    def at_height(self) -> bool:
        """Whether the height in the wind matters."""
        return self.variable in AT_HEIGHT

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

    Climb 18, lock 12, hub 10 m/s give 10 (common practice, no source). The longest time to stay clear of a kind is kept.
    Limits on another height, averaging, offset or class of work are another kind and stay beside each other. Raises
    ValueError when no set is given.
    """
    sets = list(limit_sets)
    if not sets:
        raise ValueError("limit sets: give at least one")
    tightest: dict[tuple[object, ...], Limit] = {}
    for limit in (limit for one in sets for limit in one.limits):
        found = tightest.get(kind_of(limit), limit)
        clear = max(found.clear_after_min, limit.clear_after_min)
        tightest[kind_of(limit)] = replace(min(found, limit, key=_slack), clear_after_min=clear)
    factors = [one.gust_factor for one in sets if one.gust_factor is not None]
    return replace(
        sets[0],
        name=" + ".join(dict.fromkeys(one.name for one in sets)),
        limits=tuple(tightest.values()),
        daylight=any(one.daylight for one in sets),
        gust_factor=max(factors) if factors else None,
        turbulence=max(one.turbulence for one in sets),
    )


def kind_of(limit: Limit) -> tuple[object, ...]:
    """What two limits share when the tighter of them says all that both say."""
    return (
        limit.variable,
        limit.height,
        limit.averaging_min,
        limit.is_upper,
        limit.offset_c,
        limit.metabolic_class,
        limit.acclimatised,
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


def _height_fault(limit: Limit) -> str:
    if limit.at_height and limit.height is None:
        return "say at which height, 'hub' or metres"
    if isinstance(limit.height, str) and limit.height != HUB:
        return f"height {limit.height!r} is not known; give 'hub' or metres"
    return ""


def _value_fault(limit: Limit) -> str:
    value, unit = limit.kept_value, VARIABLES[limit.variable]
    if limit.windy and not (value > 0 and limit.is_upper):
        return "give an upper limit above 0 m/s with '<' or '<='"
    if limit.variable in UPPER_ONLY and not limit.is_upper:
        return "more of it is worse; give an upper limit with '<' or '<='"
    if limit.variable in LOWER_ONLY and limit.is_upper:
        return "less of it is worse; give a lower limit with '>' or '>='"
    if limit.variable == "wind_chill" and value > 10:
        return f"above 10 degC nobody feels wind chill; give 10 degC or less, not {value:g}"
    if unit == "%" and not 0 <= value <= 100:
        return f"give a percentage from 0 to 100, not {value:g}"
    if unit in ("m", "s", "mm/h") and value < 0:
        return f"give 0 {unit} or more, not {value:g}"
    return ""


def _heat_fault(limit: Limit) -> str:
    if limit.offset_c and limit.variable not in INSIDE:
        return "offset_c is for temperature, wbgt and work_share only; leave it at 0"
    if not 0 <= limit.offset_c <= MOST_OFFSET_C:
        return f"offset_c is how much warmer the nacelle is, 0 to {MOST_OFFSET_C:g} degC, not {limit.offset_c:g}"
    if (limit.metabolic_class is not None) != (limit.variable == "work_share"):
        return "metabolic_class goes with a work_share limit, and only there; give 0 (resting) to 4 (very high)"
    if limit.metabolic_class is not None and limit.metabolic_class not in range(len(CLASS_W)):
        return f"metabolic_class {limit.metabolic_class} is not known; give 0 (resting) to 4 (very high)"
    return ""


def _time_fault(limit: Limit) -> str:
    if not limit.averaging_min > 0:
        return "give the averaging in minutes, above 0"
    if not 0 <= limit.clear_after_min <= MOST_CLEAR_MIN:
        return f"clear_after_min is minutes to stay clear, 0 to {MOST_CLEAR_MIN:g}, not {limit.clear_after_min:g}"
    return ""


def _slack(limit: Limit) -> tuple[float, bool]:
    value = limit.kept_value if limit.is_upper else -limit.kept_value
    return value, limit.op in ("<=", ">=")
