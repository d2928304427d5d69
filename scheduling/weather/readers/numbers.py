"""Columns of texts to numbers. One sign means decimal, there is no thousands sign, and a doubt is refused."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.weather.readers.faults import Fault, refuse_first
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import FloatArray


def parse_numbers(texts: Sequence[str], column: str, lines: Sequence[int], recipe: Recipe) -> FloatArray:
    """float64 [n], NaN for an empty cell or a missing text. Raises ReadRefused at the first that is no number."""
    values, faults = read_numbers(texts, column, lines, recipe)
    refuse_first(faults, len(texts))
    return values


def read_numbers(texts: Sequence[str], column: str, lines: Sequence[int], recipe: Recipe) -> tuple[FloatArray, tuple[Fault, ...]]:
    """(float64 [n], the cells that are no plain number).

    NaN for an empty cell, for a text that the recipe or its column calls missing (compared as text and as
    number), and for a fault.
    """
    own = next((one.missing for one in recipe.columns if one.column == column), ())
    missing = {"", *(text.strip() for text in (*recipe.missing, *own))}
    plain = _with_points(texts, missing, recipe.decimal)
    faults: list[Fault] = []
    try:
        values = np.fromiter(map(float, plain), dtype=np.float64, count=len(plain))
        doubtful = "_" in "".join(plain) or not np.isfinite(values).all()
    except ValueError:
        doubtful = True
    if doubtful:
        values = _cell_by_cell(plain, texts, missing, (column, lines, recipe.decimal), faults)
    for sentinel in _numeric(missing):
        values[values == sentinel] = np.nan
    return values, tuple(faults)


def _with_points(texts: Sequence[str], missing: set[str], decimal: str) -> Sequence[str]:
    if decimal == ".":
        return texts
    # A point in a file with decimal commas may be a thousands sign: it is left to be refused, not read.
    return [text if text.strip() in missing else text.replace(".", "?").replace(",", ".") for text in texts]


def _cell_by_cell(
    plain: Sequence[str], texts: Sequence[str], missing: set[str], about: tuple[str, Sequence[int], str], faults: list[Fault]
) -> FloatArray:
    column, lines, decimal = about
    values = np.full(len(plain), np.nan)
    for row, text in enumerate(plain):
        if text.strip() in missing:
            continue
        number = _number(text)
        if number is None:
            reason = f"{texts[row].strip()!r} is no number with decimal {decimal!r}; "
            faults.append(Fault(row, lines[row], reason + "correct it, name it under missing, or state the decimal sign", column))
        else:
            values[row] = number
    return values


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) and "_" not in text else None


def _numeric(missing: set[str]) -> list[float]:
    numbers = []
    for text in missing:
        try:
            numbers.append(float(text))
        except ValueError:
            continue
    return [number for number in numbers if np.isfinite(number)]
