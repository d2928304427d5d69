"""Columns of texts to numbers. One sign means decimal, there is no thousands sign, and a doubt is refused."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import FloatArray


def parse_numbers(texts: Sequence[str], column: str, lines: Sequence[int], recipe: Recipe) -> FloatArray:
    """float64 [n], NaN for an empty cell or one of the recipe's missing texts (compared as text and as
    number).

    Raises ReadRefused naming line, column and value for anything that is no plain number.
    """
    missing = {"", *(text.strip() for text in recipe.missing)}
    plain = _with_points(texts, missing, recipe.decimal)
    try:
        values = np.fromiter(map(float, plain), dtype=np.float64, count=len(plain))
        doubtful = "_" in "".join(plain) or not np.isfinite(values).all()
    except ValueError:
        doubtful = True
    if doubtful:
        values = np.array([_cell(plain, i, column, lines, missing, recipe) for i in range(len(plain))])
    for sentinel in _numeric(missing):
        values[values == sentinel] = np.nan
    return values


def _with_points(texts: Sequence[str], missing: set[str], decimal: str) -> Sequence[str]:
    if decimal == ".":
        return texts
    # A point in a file with decimal commas may be a thousands sign: it is left to be refused, not read.
    return [text if text.strip() in missing else text.replace(".", "?").replace(",", ".") for text in texts]


def _cell(texts: Sequence[str], i: int, column: str, lines: Sequence[int], missing: set[str], recipe: Recipe) -> float:
    text = texts[i].strip()
    if text in missing:
        return float("nan")
    try:
        value = float(text)
        if np.isfinite(value) and "_" not in text:
            return value
    except ValueError:
        pass
    shown = text if recipe.decimal == "." else text.replace(".", ",").replace("?", ".")
    raise ReadRefused(
        f"line {lines[i]}, column {column}: {shown!r} is no number with decimal {recipe.decimal!r}; "
        "correct it, name it under missing, or state the decimal sign"
    )


def _numeric(missing: set[str]) -> list[float]:
    numbers = []
    for text in missing:
        try:
            numbers.append(float(text))
        except ValueError:
            continue
    return [number for number in numbers if np.isfinite(number)]
