"""Members that come as an ensemble: Series told apart by `member`, gathered for what works on arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import Series, same_grid


def by_member(series: Sequence[Series]) -> dict[int, tuple[Series, ...]]:
    """The series of each member, members in order; {0: all} for a single forecast or an observation.

    A series with member 0 beside an ensemble (the one pressure of all members) is given to every member. So
    whatever works on the series of one forecast (`to_hub`, `to_slots`) works on those of one member.
    """
    numbers = sorted({one.member for one in series} - {0}) or [0]
    return {number: tuple(one for one in series if one.member in (0, number)) for number in numbers}


def members_matrix(series: Sequence[Series]) -> NDArray[np.float32]:
    """float32 [members, n], NaN where a value is missing or flagged, rows in the order of `member`.

    One series of a single forecast gives one row. Raises ValueError when the series differ in variable,
    height, averaging or grid, or two of them are the same member.
    """
    if not series:
        raise ValueError("members: no series was given")
    ordered = sorted(series, key=lambda one: one.member)
    first = ordered[0]
    kinds = {(one.variable, one.height_m, one.averaging_min) for one in ordered}
    if len(kinds) > 1 or not all(same_grid(first, one) for one in ordered):
        raise ValueError("members: only series of one variable, height, averaging and grid are members of one ensemble")
    if len({one.member for one in ordered}) < len(ordered):
        raise ValueError(f"members: {first.variable} comes twice for one member; choose by `preferred` first")
    return np.stack([one.usable() for one in ordered]).astype(np.float32)
