"""One value as it stands in the file: a number, a text with its unit, a range of which the higher end counts."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from scheduling.weather.readers.report import ReadRefused

_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?"
_TEXT = re.compile(rf"(?P<low>{_NUMBER})(?:\s*(?:to|-|–)\s*(?P<high>{_NUMBER}))?\s*(?P<unit>[^\d\s.,+-].*)?")
#: Variables of which more is worse, so that the higher end of a range is the safe one.
RISING = frozenset({"wind", "gust", "rain", "wave_height", "lightning_probability", "icing_probability"})
_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
#: Points of the compass, 22.5 degrees apart, north 0.
COMPASS = {name: number * 22.5 for number, name in enumerate(_POINTS)}


@dataclass(frozen=True)
class Value:
    """A number (NaN: none), the unit in its own text ("" where it has none), and whether it was the end of a range."""

    number: float
    unit: str = ""
    of_range: bool = False


NOTHING = Value(math.nan)


def value_of(raw: Any, variable: str, missing: frozenset[str], place: str) -> Value:
    """Read one value. null, an empty text and the `missing` texts are NaN. Raises ReadRefused naming `place`."""
    if raw is None:
        return NOTHING
    if isinstance(raw, str):
        return _of_text(raw.strip(), variable, missing, place)
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise ReadRefused(f"{place}: {_shown(raw)} is no value; name the place of the number in the recipe")
    return NOTHING if _sentinel(float(raw), missing) else Value(_finite(float(raw)))


def _of_text(text: str, variable: str, missing: frozenset[str], place: str) -> Value:
    if not text or text in missing:
        return NOTHING
    if variable == "direction" and text.upper() in COMPASS:
        return Value(COMPASS[text.upper()], "deg")
    found = _TEXT.fullmatch(text)
    if found is None:
        raise ReadRefused(f"{place}: {text!r} is no number and no number with a unit; correct it or name it under missing")
    low, high, unit = float(found["low"]), found["high"], (found["unit"] or "").strip()
    if high is None:
        return NOTHING if _sentinel(low, missing) else Value(_finite(low), unit)
    if variable not in RISING:
        raise ReadRefused(f"{place}: {text!r} is a range, and which end is the safe one for {variable} cannot be told")
    return Value(_finite(max(low, float(high))), unit, of_range=True)


def _finite(number: float) -> float:
    return number if math.isfinite(number) else math.nan


def _sentinel(number: float, missing: frozenset[str]) -> bool:
    return number in _numbers(missing)


@cache
def _numbers(missing: frozenset[str]) -> frozenset[float]:
    return frozenset(float(text) for text in missing if re.fullmatch(_NUMBER, text))


def _shown(raw: Any) -> str:
    if isinstance(raw, dict):
        return f"an object with {', '.join(list(raw)[:8])}"
    return "a list" if isinstance(raw, list) else repr(raw).lower()
