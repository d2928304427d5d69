"""Access to a turbine: limit sets, stays, windows and their chance. Pure: standard library and NumPy only."""

from __future__ import annotations

from scheduling.access.judge import Binding, Bindings, binding_limit, binding_limits, workable
from scheduling.access.limits import Limit, LimitSet, check_limit_set, combine
from scheduling.access.openings import Closing, Opening, closings, openings
from scheduling.access.rest import chance_with_rest, slots_with_rest, work_pace
from scheduling.access.stay import Stay, access_min, climb_min
from scheduling.access.values import Field, judged_values
from scheduling.access.windows import (
    chance,
    down_by,
    first_start,
    fitting_starts,
    inside_windows,
    last_start,
    longest_room,
    longest_window,
    room_ahead,
    run_ahead,
    wait_slots,
    windows,
    with_hold,
)
from scheduling.access.words import limit_name, limit_unit
from scheduling.bits import pack_members, unpack_members

__all__ = [
    "Binding",
    "Bindings",
    "Closing",
    "Field",
    "Limit",
    "LimitSet",
    "Opening",
    "Stay",
    "access_min",
    "binding_limit",
    "binding_limits",
    "chance",
    "chance_with_rest",
    "check_limit_set",
    "climb_min",
    "closings",
    "combine",
    "down_by",
    "first_start",
    "fitting_starts",
    "inside_windows",
    "judged_values",
    "last_start",
    "limit_name",
    "limit_unit",
    "longest_room",
    "longest_window",
    "openings",
    "pack_members",
    "room_ahead",
    "run_ahead",
    "slots_with_rest",
    "unpack_members",
    "wait_slots",
    "windows",
    "with_hold",
    "work_pace",
    "workable",
]
