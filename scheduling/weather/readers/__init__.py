"""Readers of weather files: one small module a format, one registry.

What cannot be known is refused, never guessed.
"""

from __future__ import annotations

from pathlib import Path

from scheduling.weather.readers.delimited import read_delimited
from scheduling.weather.readers.kinds import Reader
from scheduling.weather.readers.report import Reading, ReadRefused
from scheduling.weather.recipe import Recipe

#: recipe.reader -> the reader of that kind of file, one line each; an unknown file is offered to them in this order.
READERS: dict[str, Reader] = {
    "delimited": Reader(read_delimited),
}

#: Files beyond this are refused before they are read.
MAX_BYTES = 200_000_000


def read(source: bytes | Path, recipe: Recipe) -> Reading:
    """Read a file (its path or its bytes) by its recipe into series on a UTC grid, with quality flags and a
    report.

    Raises ReadRefused (a ValueError) with one sentence that names row, column, value and cure; nothing is
    half read.
    """
    if recipe.reader not in READERS:
        raise ReadRefused(f"reader: {recipe.reader!r} is not known; choose one of {', '.join(READERS)}")
    size = len(source) if isinstance(source, bytes) else _size(source)
    if size > MAX_BYTES:
        raise ReadRefused(f"The file has {size:,} bytes; at most {MAX_BYTES:,} are read. Split it by year.")
    data = source if isinstance(source, bytes) else source.read_bytes()
    return READERS[recipe.reader].read(data, recipe)


def _size(path: Path) -> int:
    if not path.is_file():
        raise ReadRefused(f"{path}: there is no such file; check the path.")
    return path.stat().st_size


__all__ = ["MAX_BYTES", "READERS", "ReadRefused", "Reading", "read"]
