"""Which variable a header's words name. A table of words met in files, not a measure of likeness."""

from __future__ import annotations

import re

_WIND = {"ws", "wsp", "wspd", "spd", "windspeed", "windspd", "windgeschwindigkeit", "ff"}
_SPEED = {"speed", "spd", "velocity", "vel", "geschwindigkeit"}
_DIRECTION = {"dir", "wd", "wdir", "direction", "winddir", "winddirection", "windrichtung", "dd"}
_GUST = {"gust", "gusts", "gst", "windgust", "windgusts", "windboen", "windböen", "boen", "böen", "windspitze"}
_MOST = {"max", "maximum"}
_DEW = {"dew", "dewp", "dewpoint", "taupunkt", "taupunkttemperatur"}
_TEMPERATURE = {"temp", "temperature", "temperatur", "lufttemperatur", "atmp", "tair", "airtemp", "tmp"}
_PRESSURE = {"pres", "press", "pressure", "baro", "barometer", "luftdruck", "sp", "ps"}
_HUMIDITY = {"rh", "rhum", "humidity", "hum", "luftfeuchte", "feuchte", "relhum"}
_RAIN = {"rain", "rainfall", "precip", "precipitation", "niederschlag"}
_VISIBILITY = {"vis", "visibility", "hvis", "sichtweite"}
_WAVE_HEIGHT = {"wvht", "hs", "hm0", "swh"}
_WAVE_PERIOD = {"dpd", "tp"}

#: A column with one of these words is something else: a spread, a lowest value, a mark, another medium.
_OTHER = {
    "std", "stdev", "stddev", "stdv", "sd", "sdev", "min", "minimum", "tke", "ti", "turb", "turbulence", "source", "uncert",
    "uncertainty", "quality", "qc", "flag", "qn", "count", "water", "wassertemperatur", "sea", "soil", "snow", "battery",
    "panel", "module", "gear", "generator", "power", "vane", "yaw", "pitch", "sunshine", "radiation", "cloud", "cm", "swell",
    "date", "year", "month",
}  # fmt: skip
#: Values over more than an hour say nothing about one step.
_LONG = re.compile(r"\b(?:last|past|previous|vergangene[rn]?|letzte[rn]?) (?:day|tag|\d+ (?:hours|stunden))\b")
_PARTS = re.compile(r"[A-ZÄÖÜ]?[a-zäöüß]+|[A-ZÄÖÜ]+(?![a-zäöüß])|\d+")
_SPAN = re.compile(r"\d+[ _-]?(?:min|minutes?)(?![a-z])", re.IGNORECASE)

#: Headers that only mean something beside another header: the columns of one public record format.
_BESIDE = {"MESS_DATUM": {"F": "wind", "D": "direction", "FF": "wind", "DD": "direction", "FX_911": "gust"}}

_PLAIN = (
    ("dew_point", _DEW),
    ("temperature", _TEMPERATURE),
    ("pressure", _PRESSURE),
    ("humidity", _HUMIDITY),
    ("rain", _RAIN),
    ("visibility", _VISIBILITY),
    ("wave_height", _WAVE_HEIGHT),
    ("wave_period", _WAVE_PERIOD),
)


def variable_in(name: str, header: tuple[str, ...] = ()) -> str | None:
    """The variable that a header's words name; None where they name none, or a spread, an extreme, a mark of it.

    `header` are the other headers of the file, for names of one letter that mean something only beside them.
    """
    for mark, names in _BESIDE.items():
        if mark in header and name.strip() in names:
            return names[name.strip()]
    parts = [part.lower() for part in _PARTS.findall(_SPAN.sub(" ", name.replace("_", " ")))]
    words = {part for part in parts if not part.isdigit()}
    joined = "".join(part for part in parts if not part.isdigit())
    if words & _OTHER or _LONG.search(" ".join(parts)) or (words & _MOST and words & {"mean", "avg", "average"}):
        return None
    return _wind(words | {joined}) or _other(words | {joined}, parts)


def _wind(words: set[str]) -> str | None:
    if words & _DIRECTION:
        return None if words & _MOST or words & {"wave"} else "direction"
    windy = bool(words & _WIND) or "wind" in words
    if words & _GUST or (windy and words & _MOST):
        return "gust"
    alone = words <= {"wind", "avg", "mean", "m", "n", "s", "e", "w", "windavg", "windmean"}
    speedy = bool(words & _WIND) or ("wind" in words and (bool(words & _SPEED) or alone))
    return "wind" if speedy and not words & {"wave"} else None


def _other(words: set[str], parts: list[str]) -> str | None:
    if words & _MOST:
        return None
    if "wave" in words:
        return next((f"wave_{kind}" for kind in ("height", "period") if kind in words), None)
    if {"dry", "bulb"} <= words or (parts[:1] == ["t"] and parts[1:2] and parts[1].isdigit()):
        return "temperature"
    if {"surf", "pres"} <= words or (parts[:1] == ["p"] and parts[1:2] and parts[1].isdigit() and parts[2:3] == ["m"]):
        return "pressure"
    return next((variable for variable, known in _PLAIN if words & known), None)
