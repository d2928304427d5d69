"""Weather members against a limit set: good or not, and which limit binds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.access.limits import Limit, LimitSet
from scheduling.access.values import Field, Fields, FloatAny, judged_values
from scheduling.access.windows import BoolArray, FloatArray
from scheduling.access.words import limit_name, limit_unit

__all__ = ["Binding", "Bindings", "Field", "binding_limit", "binding_limits", "holds", "judged_values", "workable"]


@dataclass(frozen=True)
class Binding:
    """The limit that binds at one slot: `value` is the median over the members that know one (NaN: none
    does). `name` as people say it, `unit` of value and limit.
    """

    variable: str
    value: float
    op: str
    limit: float
    blocked_share: float
    name: str = ""
    unit: str = ""


@dataclass(frozen=True, eq=False)
class Bindings:
    """The binding limit of every slot, arrays [..., slots].

    index           into `limits`; len(limits) = daylight, -1 = nothing binds
    value           median over the members that know one, NaN where none does
    blocked_share   share of members the limit blocks
    """

    limits: tuple[Limit, ...]
    index: NDArray[np.int64]
    value: FloatArray
    blocked_share: FloatArray

    def at(self, *where: int) -> Binding | None:
        """The binding limit at one place, None when no member is blocked."""
        index = int(self.index[where])
        if index < 0:
            return None
        if index == len(self.limits):
            return Binding("daylight", float("nan"), "=", float("nan"), 1.0, "daylight")
        limit, value, share = self.limits[index], float(self.value[where]), float(self.blocked_share[where])
        return Binding(limit.variable, value, limit.op, limit.kept_value, share, limit_name(limit), limit_unit(limit))


def workable(fields: Fields, limit_set: LimitSet, daylight: BoolArray | None = None) -> BoolArray:
    """bool [..., members, slots]: every limit of the set holds. An unknown value never passes.

    fields      variable -> Field, all of shapes that broadcast together
    daylight    bool [slots] (or broadcastable), needed when the set asks for daylight

    What each limit is held against, and when that raises ValueError, is said at `judged_values`; a limit of which nothing
    is known blocks. Raises ValueError when daylight is asked for and not given.
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


def binding_limit(fields: Fields, limit_set: LimitSet, slot: int, daylight: BoolArray | None = None) -> Binding | None:
    """Which limit blocks most members at `slot` (fields [members, slots]); of equals the one passed by most.

    None when no member is blocked. An unknown variable binds with value NaN, darkness as "daylight" with
    limit NaN.
    """
    return binding_limits(fields, limit_set, daylight).at(slot)


def binding_limits(fields: Fields, limit_set: LimitSet, daylight: BoolArray | None = None) -> Bindings:
    """The limit that binds at every slot, as `binding_limit` says it, for fields [..., members, slots]."""
    good = workable(fields, limit_set, daylight)
    shape = (*good.shape[:-2], good.shape[-1])
    found = [_blocked(judged_values(fields, limit, limit_set), limit, shape) for limit in limit_set.limits]
    values, shares, over = (np.stack(part) for part in zip(*found, strict=True))
    # Of those that block most members, the one passed by most.
    index = np.argmax(np.where(shares == shares.max(axis=0), over, -np.inf), axis=0)
    value = np.take_along_axis(values, index[None], axis=0)[0]
    share = np.take_along_axis(shares, index[None], axis=0)[0]
    index = np.where(share > 0, index, -1)
    if limit_set.daylight:
        dark = np.broadcast_to(~_given(daylight, limit_set), good.shape).any(axis=-2)
        index, share = np.where(dark, len(limit_set.limits), index), np.where(dark, 1.0, share)
    return Bindings(limit_set.limits, index, value, share)


def _blocked(values: FloatAny | None, limit: Limit, shape: tuple[int, ...]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """[..., slots]: the median of the members, the share blocked, and by how much of the limit it is passed."""
    if values is None:
        return np.full(shape, np.nan), np.ones(shape), np.full(shape, np.inf)
    middle = known_median(values)
    share = np.count_nonzero(~holds(values, limit), axis=-2) / values.shape[-2]
    sign = 1.0 if limit.is_upper else -1.0
    over = sign * (middle - limit.kept_value) / max(abs(limit.kept_value), 1.0)
    over = np.where(np.isnan(over), np.inf, over)
    return np.broadcast_to(middle, shape), np.broadcast_to(share, shape), np.broadcast_to(over, shape)


def known_median(values: FloatAny) -> FloatArray:
    """float64 [..., slots]: median over the members (axis -2) that are known, NaN where none is."""
    ordered = np.sort(np.asarray(values, dtype=np.float64), axis=-2)  # NaN last
    known = np.count_nonzero(~np.isnan(ordered), axis=-2)[..., None, :]
    low, high = np.maximum(known - 1, 0) // 2, np.minimum(known // 2, ordered.shape[-2] - 1)
    low, high = np.minimum(low, high), np.maximum(low, high)
    pair = np.take_along_axis(ordered, low, axis=-2) + np.take_along_axis(ordered, high, axis=-2)
    middle: FloatArray = pair[..., 0, :] / 2.0
    return middle


def _given(daylight: BoolArray | None, limit_set: LimitSet) -> BoolArray:
    if daylight is None:
        raise ValueError(f"daylight: limit set {limit_set.name!r} asks for daylight; give the slots with daylight")
    return daylight
