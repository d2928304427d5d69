"""Weather members against a limit set: good or not, and which limit binds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.access.limits import Height, Limit, LimitSet
from scheduling.access.windows import BoolArray
from scheduling.weather.gust import averaging_factor

FloatAny = NDArray[np.floating[Any]]


@dataclass(frozen=True, eq=False)
class Field:
    """One variable's members on the slots of a plan, in the unit it is kept in.

    values          float [..., members, slots]; NaN = unknown
    height          "hub" (already carried there), metres, or None where height does not matter
    averaging_min   of the values, in minutes
    """

    values: FloatAny
    height: Height
    averaging_min: float


@dataclass(frozen=True)
class Binding:
    """The limit that binds at one slot: `value` is the median over the members that know one (NaN: none
    does).
    """

    variable: str
    value: float
    op: str
    limit: float
    blocked_share: float


def workable(fields: Mapping[str, Field], limit_set: LimitSet, daylight: BoolArray | None = None) -> BoolArray:
    """bool [..., members, slots]: every limit of the set holds. An unknown value never passes.

    fields      variable -> Field, all of shapes that broadcast together
    daylight    bool [slots] (or broadcastable), needed when the set asks for daylight

    A wind averaged over longer than its limit asks is raised to its likely peaks first
    (`gust.averaging_factor`). A gust limit without a gust field takes wind x gust_factor if the set states
    one, and blocks otherwise. Raises ValueError when a field is at another height than its limit (carry it
    first) or daylight is not given.
    """
    shape = np.broadcast_shapes(*(field.values.shape for field in fields.values())) if fields else (1, 1)
    good = np.ones(shape, dtype=bool)
    for limit in limit_set.limits:
        values = judged_values(fields, limit, limit_set)
        if values is None:
            good[...] = False
            continue
        good &= holds(values, limit)
    if limit_set.daylight:
        good &= _given(daylight, limit_set)
    return good


def holds(values: FloatAny, limit: Limit) -> BoolArray:
    """bool like `values`: the limit holds. NaN never does."""
    bound = values.dtype.type(limit.kept_value)
    compare = {"<=": np.less_equal, "<": np.less, ">=": np.greater_equal, ">": np.greater}[limit.op]
    result: BoolArray = compare(values, bound)
    return result


def judged_values(fields: Mapping[str, Field], limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    """The values a limit is held against, at its height and averaging; None when nothing is known of them."""
    field = fields.get(limit.variable)
    factor = 1.0
    if field is None and limit.variable == "gust" and limit_set.gust_factor is not None:
        field, factor = fields.get("wind"), limit_set.gust_factor
    elif field is not None and limit.variable == "wind":
        factor = averaging_factor(field.averaging_min, limit.averaging_min, limit_set.turbulence)
    if field is None:
        return None
    if limit.height is not None and field.height != limit.height:
        raise ValueError(
            f"{limit.variable}: the limit of {limit_set.name!r} is at {_where(limit.height)}, the weather at "
            f"{_where(field.height)}; carry the wind to the limit's height first"
        )
    return field.values if factor == 1.0 else field.values * field.values.dtype.type(factor)


def binding_limit(
    fields: Mapping[str, Field], limit_set: LimitSet, slot: int, daylight: BoolArray | None = None
) -> Binding | None:
    """Which limit blocks most members at `slot` (fields [members, slots]); of equals the one passed by most.

    None when no member is blocked. An unknown variable binds with value NaN, darkness as "daylight" with
    limit NaN.
    """
    if limit_set.daylight and not _given(daylight, limit_set)[..., slot].all():
        return Binding("daylight", float("nan"), "=", float("nan"), 1.0)
    found = [_binding(judged_values(fields, limit, limit_set), limit, slot) for limit in limit_set.limits]
    blocked = [one for one in found if one.blocked_share > 0]
    return max(blocked, key=_severity, default=None)


def _binding(values: FloatAny | None, limit: Limit, slot: int) -> Binding:
    if values is None:
        return Binding(limit.variable, float("nan"), limit.op, limit.kept_value, 1.0)
    here = values[:, slot]
    known = here[np.isfinite(here)]
    middle = float(np.median(known)) if len(known) else float("nan")
    share = float(1.0 - holds(here, limit).mean())
    return Binding(limit.variable, middle, limit.op, limit.kept_value, share)


def _severity(binding: Binding) -> tuple[float, float]:
    over = binding.value - binding.limit if binding.op in ("<", "<=") else binding.limit - binding.value
    return binding.blocked_share, over / max(abs(binding.limit), 1.0) if over == over else np.inf


def _given(daylight: BoolArray | None, limit_set: LimitSet) -> BoolArray:
    if daylight is None:
        raise ValueError(f"daylight: limit set {limit_set.name!r} asks for daylight; give the slots with daylight")
    return daylight


def _where(height: Height) -> str:
    return "no height" if height is None else "hub height" if height == "hub" else f"{height:g} m"
