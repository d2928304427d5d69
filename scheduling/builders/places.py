"""Where turbines and lodgings lie from their base, and how long the way there takes."""

from __future__ import annotations

import math

from planner.models import Base, Lodging, Turbine

EARTH_KM = 6371.0088


def place_km(base: Base, one: Turbine | Lodging) -> tuple[float, float]:
    """Kilometres east and north of the base."""
    east = math.radians(one.longitude - base.longitude) * math.cos(math.radians(base.latitude))
    return round(EARTH_KM * east, 3), round(EARTH_KM * math.radians(one.latitude - base.latitude), 3)


def hop_min(base: Base, one: Turbine, lodging: Lodging | None = None) -> int:
    """Minutes from the base, or from one of its lodgings, to a turbine."""
    (x, y), (from_x, from_y) = place_km(base, one), place_km(base, lodging) if lodging else (0.0, 0.0)
    return base.hop_fixed_min + math.ceil(60 * math.hypot(x - from_x, y - from_y) / base.speed_kmh)
