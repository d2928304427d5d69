"""What a name in a file says by itself: which variable it is, and the height written into it."""

from __future__ import annotations

import re

#: variable -> names met for it, in small letters without signs; heights are cut off before looking here
_NAMES: dict[str, tuple[str, ...]] = {
    "wind": ("windspeed", "ws", "wspd", "wind", "meanwindspeed", "windspeedmean", "si"),
    "gust": (
        "windgust",
        "windgusts",
        "gust",
        "gustspeed",
        "windspeedofgust",
        "windgustspeed",
        "windspeedgust",
        "maximumwindgust",
    ),
    "direction": ("winddirection", "windfromdirection", "windfromdir", "wd", "wdir", "winddir"),
    "temperature": ("temperature", "airtemperature", "temp", "t", "airtemp"),
    "dew_point": ("dewpoint", "dewpointtemperature", "d", "dewtemp"),
    "pressure": ("pressure", "airpressure", "surfacepressure", "surfaceairpressure", "barometricpressure", "sp"),
    "humidity": ("relativehumidity", "rh", "humidity"),
    "visibility": ("visibility", "visibilityinair"),
    "wave_height": ("waveheight", "significantwaveheight", "swh", "seasurfacewavesignificantheight"),
    "wave_period": ("waveperiod", "mwp", "meanwaveperiod"),
}
_VARIABLES = {name: variable for variable, names in _NAMES.items() for name in names}
_HEIGHT = re.compile(r"(?:^|(?<=[_\W])|(?<=[a-zA-Z]))(\d{1,3})_?[ ]?m(?:et(?:re|er)s?)?(?=$|[_\W])", re.IGNORECASE)


def height_in(name: str) -> float | None:
    """The height in metres written into a name ("WS10m", "wind_speed_100m", "2 metre temperature"); None without one."""
    found = _HEIGHT.findall(name)
    return float(found[0]) if len(found) == 1 else None


def variable_of(name: str) -> str | None:
    """The variable a name stands for, its height left aside; None for a name that is not in the table."""
    plain = re.sub(r"[\W_]", "", _HEIGHT.sub("", name)).lower()
    return None if len(plain) == 1 and height_in(name) is None else _VARIABLES.get(plain)
