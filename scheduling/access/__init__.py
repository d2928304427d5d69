"""Access to a turbine: limit sets, stays, windows and their chance. Pure: standard library and NumPy only."""

from __future__ import annotations

from scheduling.access.judge import Binding, Field, binding_limit, workable
from scheduling.access.limits import Limit, LimitSet, check_limit_set, combine
from scheduling.access.stay import Stay, access_min, climb_min
from scheduling.access.windows import (
    chance,
    down_by,
    first_start,
    fitting_starts,
    inside_windows,
    last_start,
    longest_window,
    wait_slots,
    windows,
    with_hold,
)
from scheduling.bits import pack_members, unpack_members

__all__ = [
    "Binding",
    "Field",
    "Limit",
    "LimitSet",
    "Stay",
    "access_min",
    "binding_limit",
    "chance",
    "check_limit_set",
    "climb_min",
    "combine",
    "down_by",
    "first_start",
    "fitting_starts",
    "inside_windows",
    "last_start",
    "longest_window",
    "pack_members",
    "unpack_members",
    "wait_slots",
    "windows",
    "with_hold",
    "workable",
]
