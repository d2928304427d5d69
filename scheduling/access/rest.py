"""Stays that take longer where the heat asks for rest."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.access.limits import LimitSet
from scheduling.access.values import Fields, judged_values
from scheduling.access.windows import BoolArray, FloatArray, IntArray, run_ahead

Floats = NDArray[np.floating[Any]]


def work_pace(fields: Fields, limit_set: LimitSet) -> Floats | None:
    """float [..., members, slots]: the share of each slot that may be work, 0 to 1, by the set's limits on the work share.

    None where the set has no such limit or nothing is known of the heat. An unknown share is 0.
    """
    limits = [limit for limit in limit_set.limits if limit.variable == "work_share"]
    shares = [values for limit in limits if (values := judged_values(fields, limit, limit_set)) is not None]
    if not shares:
        return None
    pace: Floats = np.nan_to_num(np.minimum.reduce(np.broadcast_arrays(*shares)) / 100.0)
    return pace


def slots_with_rest(pace: Floats, stay_slots: int) -> IntArray:
    """int64 [..., t]: slots a stay from each start lasts at a `pace` [..., t] of work, until it holds `stay_slots` of work.

    A pace of 1 gives `stay_slots`, one of 0.5 throughout twice as many. Where the data end before the work does, one slot
    more than is left. Raises ValueError for a stay below 1 slot.
    """
    if stay_slots < 1:
        raise ValueError("stay_slots: give 1 slot or more")
    steps = pace.shape[-1]
    done = np.zeros((pace.size // steps, steps + 1))
    np.cumsum(pace.reshape(-1, steps), axis=-1, out=done[:, 1:])
    # One search for all rows: each row's sums are lifted clear of the row before.
    lift = np.arange(len(done))[:, None] * (steps + stay_slots + 1.0)
    wanted = done[:, :-1] + stay_slots - 1e-9
    ends = np.searchsorted((done + lift).ravel(), (wanted + lift).ravel()).reshape(wanted.shape)
    ends -= np.arange(len(done))[:, None] * (steps + 1)
    return np.asarray(ends - np.arange(steps)).reshape(pace.shape)


def chance_with_rest(workable: BoolArray, lasting: IntArray) -> FloatArray:
    """float64 [..., t]: share of members in which a stay that lasts `lasting` [..., m, t] slots fits from each start.

    workable: bool [..., m, t]. With one length throughout it is `windows.chance`.
    """
    share: FloatArray = np.count_nonzero(run_ahead(workable) >= lasting, axis=-2) / workable.shape[-2]
    return share
