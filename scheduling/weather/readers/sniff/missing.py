"""Texts and numbers that stand for "no value" in a column."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

#: Texts that mean "no value" wherever they stand in a column of numbers.
_TEXTS = {
    "nan",
    "na",
    "n/a",
    "n.a.",
    "null",
    "none",
    "mm",
    "m",
    "nil",
    "missing",
    "fehlt",
    "-",
    "--",
    "---",
    "----",
    "*",
    "?",
    "/",
}
_SIGNS = re.compile(r"[-*?./_]+")
#: Numbers out of reach of any variable, as fill-ins are written.
_NUMBERS = {-99.0, -99.9, -99.99, -999.0, -999.9, -999.99, -9999.0, -9999.9, -9900.0, -99999.0, -32768.0, -7999.0, -6999.0}
_HIGH = {999.0, 999.9, 9999.0, 9999.9, 99999.0, 999999.0, 9999999.0}
#: ... and the least of those above that this variable cannot be, in any unit.
_LEAST_HIGH = {"wind": 999.0, "gust": 999.0, "direction": 999.0, "temperature": 999.0, "dew_point": 999.0, "humidity": 999.0}
_LEAST_HIGH_OTHER = 9_999_999.0
_PRESSURE_FACTOR = 5.0


def missing_in(texts: Sequence[str], variable: str, decimal: str) -> tuple[dict[str, int], dict[str, int]]:
    """(texts, numbers) that stand for no value in a column, each with how often it stands there."""
    counts = Counter(text.strip() for text in texts)
    numbers = {text: value for text in counts if (value := _number(text, decimal)) is not None}
    words = {text: counts[text] for text in counts if text and text not in numbers and _no_value(text)}
    typical = _median([value for value in numbers.values() if value > 0])
    fills = {text: counts[text] for text, value in numbers.items() if _fill(value, variable, typical)}
    return words, fills


def decimal_of(columns: Sequence[Sequence[str]], delimiter: str) -> str:
    """The decimal sign of the numbers: a comma only where it cannot be the delimiter and no point is one."""
    if delimiter == ",":
        return "."
    cells = {text.strip() for column in columns for text in column}
    commas = sum(bool(re.fullmatch(r"[+-]?\d+,\d+", text)) for text in cells)
    points = sum(bool(re.fullmatch(r"[+-]?\d+\.\d+", text)) for text in cells)
    return "," if commas > points else "."


def _number(text: str, decimal: str) -> float | None:
    try:
        return float(text.replace(",", ".") if decimal == "," else text)
    except ValueError:
        return None


def _no_value(text: str) -> bool:
    return text.lower() in _TEXTS or bool(_SIGNS.fullmatch(text))


def _fill(value: float, variable: str, typical: float) -> bool:
    if value in _NUMBERS:
        return True
    if variable == "pressure":
        return value in _HIGH and typical > 0 and value > _PRESSURE_FACTOR * typical
    return value in _HIGH and value >= _LEAST_HIGH.get(variable, _LEAST_HIGH_OTHER)


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    return ordered[len(ordered) // 2] if ordered else 0.0
