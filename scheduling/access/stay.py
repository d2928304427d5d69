"""A stay at a turbine: up, work, pack, down; and how long up and down take."""

from __future__ import annotations

import math
from dataclasses import dataclass

#: 24 rungs a minute at 0.30 m (from memory; a maker, a site or a person may have another pace).
LADDER_M_PER_MIN = 7.2
LIFT_M_PER_MIN = 18.0


@dataclass(frozen=True)
class Stay:
    """The whole time at a turbine, in minutes; every minute of it must lie inside the window."""

    access_up_min: float
    work_min: float
    pack_min: float = 0.0
    access_down_min: float = 0.0

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name}: give minutes of 0 or more, not {value}")
        if self.work_min == 0:
            raise ValueError("work_min: a stay without work is none; give the minutes of work")

    @property
    def total_min(self) -> float:
        """Minutes from the foot of the tower to the foot of the tower."""
        return self.access_up_min + self.work_min + self.pack_min + self.access_down_min

    def slots(self, slot_min: int) -> int:
        """Whole slots of `slot_min` minutes that the stay occupies, rounded up."""
        if slot_min < 1:
            raise ValueError("slot_min: give whole minutes, 1 or more")
        return math.ceil(self.total_min / slot_min - 1e-9)


def climb_min(height_m: float, pace_m_per_min: float = LADDER_M_PER_MIN) -> float:
    """Minutes for `height_m` at a pace: 80 m of ladder 11.1 min, by a lift of 18 m/min 4.4 min (from memory).

    Raises ValueError for a negative height or a pace not above 0.
    """
    if not (math.isfinite(height_m) and height_m >= 0):
        raise ValueError("height_m: give metres of 0 or more")
    if not (math.isfinite(pace_m_per_min) and pace_m_per_min > 0):
        raise ValueError("pace: give metres a minute, above 0")
    return height_m / pace_m_per_min


def access_min(
    lift_to_m: float,
    ladder_m: float,
    *,
    lift_m_per_min: float = LIFT_M_PER_MIN,
    ladder_m_per_min: float = LADDER_M_PER_MIN,
    lift_shut: bool = False,
) -> float:
    """Minutes one way: by lift to `lift_to_m`, then `ladder_m` of ladder above it; with the lift shut all by
    ladder.
    """
    if lift_shut:
        return climb_min(lift_to_m + ladder_m, ladder_m_per_min)
    return climb_min(lift_to_m, lift_m_per_min) + climb_min(ladder_m, ladder_m_per_min)
