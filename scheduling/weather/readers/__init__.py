"""Readers of weather files: one small module a format, one registry.

What cannot be known is refused, never guessed.
"""

from __future__ import annotations

from pathlib import Path

from scheduling.weather.readers.delimited import read_delimited, read_good_rows
from scheduling.weather.readers.ensemble import read_ensemble
from scheduling.weather.readers.ensemble.propose import propose_ensemble
from scheduling.weather.readers.json_series import read_json
from scheduling.weather.readers.json_series.propose import propose_json
from scheduling.weather.readers.kinds import AnswerNeeded, Proposal, Reader
from scheduling.weather.readers.netcdf import read_netcdf
from scheduling.weather.readers.netcdf.propose import propose_netcdf
from scheduling.weather.readers.report import Reading, ReadRefused
from scheduling.weather.readers.sniff import propose_delimited
from scheduling.weather.readers.unpack import MAX_BYTES, check_size, unpacked
from scheduling.weather.recipe import Recipe

#: recipe.reader -> the reader of that kind of file, one line each; an unknown file is offered to them in this order.
READERS: dict[str, Reader] = {
    "json": Reader(read_json, propose_json),
    "netcdf": Reader(read_netcdf, propose_netcdf),
    "ensemble": Reader(read_ensemble, propose_ensemble),
    "delimited": Reader(read_delimited, propose_delimited, read_good_rows),
}


def read(source: bytes | Path, recipe: Recipe, *, good_rows_only: bool = False) -> Reading:
    """Read a file (its path or its bytes, packed or not) by its recipe into series on a UTC grid, with quality
    flags and a report.

    Raises ReadRefused (a ValueError) with one sentence that names row, column, value and cure; nothing is
    half read. With `good_rows_only` rows that do not fit are left out and handed back in `Reading.rejected`.
    """
    if recipe.reader not in READERS:
        raise ReadRefused(f"reader: {recipe.reader!r} is not known; choose one of {', '.join(READERS)}")
    reader = READERS[recipe.reader]
    data, _ = unpacked(load(source), recipe.member)
    lenient = reader.read_good_rows if good_rows_only else None
    return (lenient or reader.read)(data, recipe)


def load(source: bytes | Path) -> bytes:
    """The bytes of a file. Raises ReadRefused when there is none, or it is too large to be read."""
    if isinstance(source, bytes):
        return source
    if not source.is_file():
        raise ReadRefused(f"{source}: there is no such file; check the path.")
    check_size(source.stat().st_size)
    return source.read_bytes()


__all__ = ["MAX_BYTES", "READERS", "AnswerNeeded", "Proposal", "ReadRefused", "Reader", "Reading", "load", "read"]
