"""What a limit is held against: the variable itself where it is given, else worked out from those that are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.access import derived
from scheduling.access.heat import work_rest_share
from scheduling.access.limits import HUB, Height, Limit, LimitSet
from scheduling.access.words import where
from scheduling.weather.gust import averaging_factor
from scheduling.weather.height import power_law

FloatAny = NDArray[np.floating[Any]]
Fields = Mapping[str, "Field"]


@dataclass(frozen=True, eq=False)
class Field:
    """One variable's members on the slots of a plan, in the unit it is kept in.

    values          float [..., members, slots]; NaN = unknown. The highest within each slot, where the source is finer
    height          "hub" (already carried there), metres, or None where height does not matter
    averaging_min   of the values, in minutes
    slot_min        length of a slot, in minutes; needed by limits that ask to stay clear for a time
    low             like `values`, the lowest within each slot; None: nothing is finer than a slot
    hub_m, shear    of a wind at the hub: its height in metres, and the exponent of the power law (one number or [slots]) by
                    which it is carried to a limit at another height; None: it cannot be carried
    """

    values: FloatAny
    height: Height
    averaging_min: float
    slot_min: float | None = None
    low: FloatAny | None = None
    hub_m: float | None = None
    shear: FloatAny | float | None = None

    @property
    def lowest(self) -> FloatAny:
        """The values a lower limit is held against."""
        return self.values if self.low is None else self.low


def judged_values(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    """float [..., members, slots]: what a limit is held against, at its height and averaging; None when nothing is known.

    A wind averaged over longer than its limit asks is raised to its likely peaks first (`gust.averaging_factor`). A gust
    that is not given is wind x gust_factor where the set states one. Felt cold is worked out from temperature and the wind
    at the limit's height, and only taken as given without them; WBGT, work share, icing, humidity, dew point and the
    distance to it are taken as given, else worked out (`access.derived`). A limit that asks to stay clear for a time is
    held against the worst value of that time, so that it opens only when all of it was good. What was before the first
    slot counts as good; an unknown value counts as bad.

    A wind at the hub is carried to a limit at another height by the field's own shear. Raises ValueError when a field is at
    another height than its limit and has no shear, or the slots' length is not stated and the limit asks to stay clear.
    """
    values = _present(fields, limit, limit_set)
    if values is None or not limit.clear_after_min:
        return values
    slot_min = next((field.slot_min for field in fields.values() if field.slot_min), None)
    if slot_min is None:
        raise ValueError(
            f"slot_min: the {limit.variable} limit of {limit_set.name!r} asks to stay clear for {limit.clear_after_min:g} min; "
            "state the length of the slots"
        )
    return worst_lately(values, int(np.ceil(limit.clear_after_min / slot_min - 1e-9)), upper=limit.is_upper)


def worst_lately(values: FloatAny, slots: int, *, upper: bool) -> FloatAny:
    """float [..., t]: the highest (or lowest) of each value and the `slots` before it; NaN where any of them is."""
    extreme = np.maximum if upper else np.minimum
    worst, have, want = values.copy(), 1, min(slots + 1, values.shape[-1])
    while have < want:
        back = min(have, want - have)
        worst[..., back:] = extreme(worst[..., back:], worst[..., :-back].copy())
        have += back
    return worst


def _present(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    """The values of each slot itself."""
    if limit.variable == "wind_chill" and {"wind", "temperature"} <= set(fields):
        return _felt_cold(fields, limit, limit_set)
    field = fields.get(limit.variable)
    if field is None:
        work_out = _WORKED_OUT.get(limit.variable)
        return work_out(fields, limit, limit_set) if work_out else None
    if limit.windy:
        return _windy(field, limit, limit_set)
    values = field.values if limit.is_upper else field.lowest
    # A given WBGT or work share is meant for where people work; only an outside temperature is carried inside.
    return values + values.dtype.type(limit.offset_c) if limit.variable == "temperature" and limit.offset_c else values


def _windy(field: Field, limit: Limit, limit_set: LimitSet, factor: float = 1.0) -> FloatAny:
    values = _carried(field, limit, limit_set)
    if limit.variable == "wind":
        factor = averaging_factor(field.averaging_min, limit.averaging_min, limit_set.turbulence)
    return values if factor == 1.0 else values * values.dtype.type(factor)


def _carried(field: Field, limit: Limit, limit_set: LimitSet) -> FloatAny:
    """The values at the limit's height."""
    if limit.height is None or field.height == limit.height:
        return field.values
    if field.height != HUB or field.hub_m is None or field.shear is None:
        raise ValueError(
            f"{limit.variable}: the limit of {limit_set.name!r} is at {where(limit.height)} height, the weather at "
            f"{where(field.height)} height; carry the wind to the limit's height first"
        )
    factor = power_law(1.0, field.hub_m, float(limit.height), field.shear)
    return field.values * np.asarray(factor, dtype=field.values.dtype)


def _gust(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    if "wind" not in fields or limit_set.gust_factor is None:
        return None
    return _windy(fields["wind"], limit, limit_set, limit_set.gust_factor)


def _felt_cold(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny:
    return derived.wind_chill_c(fields["temperature"].lowest, _carried(fields["wind"], limit, limit_set))


def _dew_point(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    if not {"temperature", "humidity"} <= set(fields):
        return None
    return derived.dew_point_c(fields["temperature"].values, fields["humidity"].values)


def _humidity(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    if "humidity" in fields:
        return fields["humidity"].values
    if not {"temperature", "dew_point"} <= set(fields):
        return None
    return derived.humidity_pct(fields["temperature"].lowest, fields["dew_point"].values)


def _spread(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    given = fields.get("dew_point")
    if "temperature" not in fields or (given is None and "humidity" not in fields):
        return None
    temperature = fields["temperature"].lowest
    dew_point = given.values if given else derived.dew_point_c(temperature, fields["humidity"].values)
    return derived.dew_point_spread_c(temperature, dew_point)


def _icing(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    humidity = _humidity(fields, limit, limit_set)
    return None if humidity is None or "temperature" not in fields else derived.icing_pct(fields["temperature"].lowest, humidity)


def _wbgt(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    if "wbgt" in fields:
        return fields["wbgt"].values
    humidity = _humidity(fields, limit, limit_set)
    if humidity is None or "temperature" not in fields:
        return None
    return derived.wbgt_c(fields["temperature"].values, humidity, limit.offset_c)


def _work_share(fields: Fields, limit: Limit, limit_set: LimitSet) -> FloatAny | None:
    wbgt = _wbgt(fields, limit, limit_set)
    if wbgt is None or limit.metabolic_class is None:
        return None
    return 100.0 * work_rest_share(wbgt, limit.metabolic_class, limit.acclimatised)


_WORKED_OUT: dict[str, Callable[[Fields, Limit, LimitSet], FloatAny | None]] = {
    "gust": _gust,
    "dew_point": _dew_point,
    "humidity": _humidity,
    "dew_point_spread": _spread,
    "icing_probability": _icing,
    "wbgt": _wbgt,
    "work_share": _work_share,
}
