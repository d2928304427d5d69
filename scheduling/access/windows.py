"""Windows in truth tables: runs, starts that fit a stay, chances over members, the time to be down.

Time is always the last axis; anything before it (turbines, limit sets, members) is carried along.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]
IntArray = NDArray[np.signedinteger[Any]]


def windows(mask: BoolArray) -> list[tuple[int, int]]:
    """(start, length) of each run of True in bool [t]."""
    edges = np.flatnonzero(np.diff(np.r_[0, mask, 0].astype(np.int8)))
    return [(int(first), int(past - first)) for first, past in zip(edges[::2], edges[1::2], strict=True)]


def longest_window(mask: BoolArray) -> tuple[int, int] | None:
    """The longest run (the first of equals), None when nothing is True."""
    return max(windows(mask), key=lambda run: run[1], default=None)


def fitting_starts(mask: BoolArray, stay_slots: int) -> BoolArray:
    """bool [..., t]: True where `stay_slots` slots from here on are all True; a stay past the end of data
    never fits.
    """
    if stay_slots < 1:
        raise ValueError("stay_slots: give 1 slot or more")
    steps = mask.shape[-1]
    if stay_slots > steps:
        return np.zeros(mask.shape, dtype=bool)
    fits = mask.copy()
    have = 1
    while have < stay_slots:
        ahead = min(have, stay_slots - have)
        fits[..., : steps - ahead] &= fits[..., ahead:]
        fits[..., steps - ahead :] = False
        have += ahead
    return fits


def inside_windows(mask: BoolArray, stay_slots: int) -> BoolArray:
    """bool [..., t]: the slots that lie in a run of at least `stay_slots`."""
    covered = fitting_starts(mask, stay_slots)
    steps, have = mask.shape[-1], 1
    while have < min(stay_slots, steps):
        ahead = min(have, stay_slots - have)
        covered[..., ahead:] |= covered[..., : steps - ahead].copy()
        have += ahead
    return covered


def chance(workable: BoolArray, stay_slots: int) -> FloatArray:
    """float64 [..., t]: share of members (axis -2 of bool [..., m, t]) in which the whole stay from each
    start fits.

    The stay is judged member by member, so correlated hours stay correlated; starts whose stay passes the end
    of the data have chance 0. Raises ValueError without a member.
    """
    if workable.ndim < 2 or workable.shape[-2] < 1:
        raise ValueError("workable: give bool [..., members, slots] with one member or more")
    fits = fitting_starts(workable, stay_slots)
    share: FloatArray = np.count_nonzero(fits, axis=-2) / workable.shape[-2]
    return share


def wait_slots(starts: BoolArray) -> FloatArray:
    """float64 [t]: slots from each time to the next possible start (0 at one); NaN where the data end before
    one.
    """
    steps = len(starts)
    here = np.where(starts, np.arange(steps), steps)
    following = np.minimum.accumulate(here[::-1])[::-1]
    return np.where(following < steps, following - np.arange(steps), np.nan)


def last_start(chances: FloatArray, confidence: float, low: int = 0, high: int | None = None) -> int | None:
    """The last start in [low, high) whose chance reaches `confidence`: the last safe start.

    None when there is none.
    """
    good = np.flatnonzero(chances[low:high] >= _confidence(confidence))
    return low + int(good[-1]) if len(good) else None


def first_start(chances: FloatArray, confidence: float, low: int = 0, high: int | None = None) -> int | None:
    """The first start in [low, high) whose chance reaches `confidence`. None when there is none."""
    good = np.flatnonzero(chances[low:high] >= _confidence(confidence))
    return low + int(good[0]) if len(good) else None


def run_ahead(mask: BoolArray) -> IntArray:
    """int32 [..., t]: how many slots from each on are True without a break."""
    steps = mask.shape[-1]
    place = np.arange(steps, dtype=np.int32)
    stop = np.where(mask, np.int32(steps), place)
    next_stop = np.minimum.accumulate(stop[..., ::-1], axis=-1)[..., ::-1]
    return np.asarray(next_stop - place, dtype=np.int32)


def room_ahead(workable: BoolArray, confidence: float) -> IntArray:
    """int32 [..., t]: the longest stay, in slots, that fits from each start in at least `confidence` of the members (axis
    -2 of bool [..., m, t]).

    Start + room is the slot by whose beginning people must be down again (`down_by` for every start at once); 0 where not
    even one slot fits. Raises ValueError without a member or for a confidence outside (0, 1].
    """
    if workable.ndim < 2 or workable.shape[-2] < 1:
        raise ValueError("workable: give bool [..., members, slots] with one member or more")
    members = workable.shape[-2]
    needed = max(1, math.ceil(members * _confidence(confidence)))
    runs = run_ahead(workable)
    return np.asarray(np.partition(runs, members - needed, axis=-2)[..., members - needed, :])


def longest_room(room: IntArray) -> tuple[IntArray, IntArray]:
    """(start, length) of the longest stay of `room` [..., t] (the first of equals), each int [...]; length 0: there is
    none.
    """
    start = np.argmax(room, axis=-1)
    return start, np.take_along_axis(room, start[..., None], axis=-1)[..., 0]


def down_by(workable: BoolArray, start: int, confidence: float) -> int | None:
    """The slot by whose beginning people who go up at `start` must be down, at `confidence`.

    It is the first slot at which the share of members workable without a break since `start` falls below the
    confidence (the end of the data at the latest). None when not even the first slot reaches it. workable:
    bool [m, t].
    """
    if not 0 <= start < workable.shape[-1]:
        raise ValueError(f"start: slot {start} is outside the {workable.shape[-1]} slots of the forecast")
    unbroken = np.logical_and.accumulate(workable[:, start:], axis=-1).mean(axis=0)
    held = int((unbroken >= _confidence(confidence)).sum())
    return start + held if held else None


def with_hold(mask: BoolArray, hold_slots: int) -> BoolArray:
    """bool [..., t]: stop at once, go back in only after `hold_slots` good slots.

    What was before the data counts as good.
    """
    if hold_slots < 0:
        raise ValueError("hold_slots: give 0 slots or more")
    before = np.ones((*mask.shape[:-1], hold_slots), dtype=bool)
    padded = np.concatenate([before, mask], axis=-1)
    return fitting_starts(padded, hold_slots + 1)[..., : mask.shape[-1]]


def _confidence(value: float) -> float:
    if not 0 < value <= 1:
        raise ValueError(f"confidence: give a share above 0 and up to 1, not {value}")
    return value - 1e-9
