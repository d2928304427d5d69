"""Limits as people say them."""

from __future__ import annotations

from scheduling.access.limits import HUB, Height, Limit
from scheduling.weather.units import VARIABLES

_NAMES = {
    "dew_point": "dew point",
    "lightning_distance": "lightning distance",
    "lightning_probability": "chance of lightning",
    "wave_height": "wave height",
    "wave_period": "wave period",
    "wind_chill": "felt cold",
    "wbgt": "heat (WBGT)",
    "work_share": "work share in the heat",
    "dew_point_spread": "distance to the dew point",
    "icing_probability": "chance of icing",
}


def limit_name(limit: Limit) -> str:
    """What a limit is about, with what else it states: "10 min wind at hub", "lightning distance over the last 30 min"."""
    name = _NAMES.get(limit.variable, limit.variable)
    if limit.at_height:
        name = f"{name} at {where(limit.height)}"
    if limit.variable == "wind":
        name = f"{limit.averaging_min:g} min {name}"
    if limit.metabolic_class is not None:
        name += f", work of class {limit.metabolic_class}, people {'' if limit.acclimatised else 'not '}used to it"
    if limit.offset_c:
        name += f" in the nacelle, {limit.offset_c:g} degC warmer than outside"
    if limit.clear_after_min:
        name += f" over the last {limit.clear_after_min:g} min"
    return name


def limit_unit(limit: Limit) -> str:
    """The unit in which a limit and its values are told."""
    return VARIABLES[limit.variable]


def where(height: Height) -> str:
    """A height in words: hub, 10 m, or no."""
    return "no" if height is None else HUB if height == HUB else f"{height:g} m"
