"""Heights, averaging times and units as headers write them."""

from __future__ import annotations

import re

from scheduling.weather.readers.unit_texts import unit_of

_HEIGHT = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?)[ _-]?(?:[Mm]et(?:er|re)s?(?![a-z])|m(?![a-z/])|M(?![A-Za-z/]))")
_MINUTES = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?)[ _-]?min(?:utes?)?(?![a-z])", re.IGNORECASE)
_SECONDS = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?)[ _-]?s(?:ec(?:onds?)?)?(?![a-z/])", re.IGNORECASE)
_IN_BRACKETS = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
#: Spellings that mean a speed only where the column is known to hold one.
_SPEEDS = {"ms": "m/s", "m_s": "m/s", "mps": "m/s", "kmh": "km/h", "kph": "km/h", "kt": "kn", "kts": "kn"}
_WORDS = {
    "metres": "m", "meters": "m", "/second": "/s", "/sec": "/s", "/hour": "/h", "gradc": "degc", "celcius": "celsius",
}  # fmt: skip
#: Texts that stand in rows of units and mean nothing here.
_OTHER_UNITS = re.compile(
    r"(?i)unit|einheit|ts|rn|w/m\^?2|wh/m\^?2|j/cm\^?2|mm|cm|min|h|hr|s|sec|code_table|grad|nmi|volts?|v|a|kw|mw|mn|mo|yr|dy|oktas?|lx"
    r"|tenths|percent|unitless|kg/m\^?3|rpm|nm|m2/s2"
)


def unit_in(text: str, variable: str) -> str | None:
    """Our name of a unit as written, if it fits the variable; None otherwise."""
    plain = text.strip().lower().replace(" ", "")
    if variable in ("wind", "gust") and plain in _SPEEDS:
        return _SPEEDS[plain]
    if plain == "grad" and variable == "direction":
        return "deg"
    for written, short in _WORDS.items():
        plain = plain.replace(written, short)
    return unit_of(plain, variable) or unit_of(text, variable)


def looks_like_unit(text: str) -> bool:
    """Whether a cell could stand in a row of units."""
    known = any(unit_in(text, variable) for variable in ("wind", "temperature", "pressure", "direction", "humidity"))
    return known or bool(_OTHER_UNITS.fullmatch(text.strip()))


def unit_of_name(name: str, variable: str) -> str | None:
    """The unit at the end of a header: in brackets, or after the last sign "_" or blank ("T2M_degC")."""
    for bracketed in reversed(_IN_BRACKETS.findall(name)):
        if found := unit_in(bracketed, variable):
            return found
    parts = re.split(r"([ _])", _IN_BRACKETS.sub("", name).strip())
    for size in (5, 3, 1):
        ending = "".join(parts[-size:])
        if len(parts) > size and not re.fullmatch(r"\d+|[CKF]?\d*", ending) and (found := unit_in(ending, variable)):
            return found
    return None


def height_of(text: str) -> float | None:
    """The one height in metres that a text names ("Spd80mN", "at_10_meters", "10-m wind"); None without, or with two."""
    found = {float(number) for number in _HEIGHT.findall(_IN_BRACKETS.sub("", text))}
    return found.pop() if len(found) == 1 else None


def averaging_of(text: str, variable: str) -> float | None:
    """The averaging time in minutes that a text names; seconds count for gusts only."""
    found = {float(number) for number in _MINUTES.findall(text)}
    if variable == "gust" and not found:
        found = {round(float(number) / 60.0, 6) for number in _SECONDS.findall(text)}
    return found.pop() if len(found) == 1 else None


def bare_number(name: str) -> float | None:
    """The number that a header ends with or stands alone in it ("WS-50"): a height only if the file's others agree."""
    found = re.fullmatch(r"[A-Za-z ]+[-_ ]?(\d+(?:\.\d+)?)", name.strip())
    return float(found[1]) if found else None
