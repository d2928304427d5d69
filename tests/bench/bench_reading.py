"""Reading and storing ten years of hourly weather, beside a plain pandas loop over a part of the same rows in the same run."""

from __future__ import annotations

import io
import resource
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
import pandas as pd

from scheduling.weather.archive import pack_series
from scheduling.weather.readers import read
from scheduling.weather.recipe import Column, Recipe

ROWS = 87_600
CASES = ("parse", "parse and store")
#: The loop looks at so many rows; its time is scaled up to all of them.
LOOP_ROWS = 2_000
COLUMNS = (
    ("ws80", "wind", "m/s", 80.0),
    ("gust80", "gust", "m/s", 80.0),
    ("wd80", "direction", "deg", 80.0),
    ("t2", "temperature", "degC", 2.0),
    ("p2", "pressure", "hPa", 2.0),
    ("rh2", "humidity", "%", 2.0),
)


def run(case: str, seed: int) -> dict[str, Any]:
    """A row with `case`, `seed`, `seconds`, `ratio` (how many times longer the plain loop takes) and `peak_mb`."""
    data = text(seed).encode()
    began = perf_counter()
    reading = read(data, recipe())
    if case == "parse and store":
        store(pack_series(reading.series)[0])
    seconds = perf_counter() - began
    assert reading.report.rows_read == ROWS
    began = perf_counter()
    loop(data)
    slow = (perf_counter() - began) * ROWS / LOOP_ROWS
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return {"case": case, "seed": seed, "seconds": round(seconds, 3), "ratio": round(slow / seconds, 1), "peak_mb": peak}


def store(data: bytes) -> None:
    """One row with the packed arrays, as a WeatherSet keeps them, in an SQLite file."""
    with tempfile.TemporaryDirectory() as folder, closing(sqlite3.connect(Path(folder) / "bench.sqlite3")) as database:
        database.execute("create table weather (data blob)")
        database.execute("insert into weather values (?)", (data,))
        database.commit()


def recipe() -> Recipe:
    """How the file is read."""
    columns = tuple(Column(name, variable, unit, height, 10.0) for name, variable, unit, height in COLUMNS)
    return Recipe(name="bench", columns=columns, time_columns=("time",), time_format="iso", stamp="start", zone="UTC")


def text(seed: int) -> str:
    """A file of ROWS hours and six variables."""
    rng = np.random.default_rng(seed)
    walk = np.abs(np.cumsum(rng.normal(0, 0.4, ROWS))) % 18
    values = (walk, walk * 1.3, walk * 17 % 360, walk - 3, 980 + walk, 60 + walk)
    table = pd.DataFrame({name: np.round(one, 2) for (name, *_), one in zip(COLUMNS, values, strict=True)})
    table.insert(0, "time", pd.date_range("2006-01-01", periods=ROWS, freq="h").strftime("%Y-%m-%dT%H:%M"))
    return table.to_csv(index=False)


def loop(data: bytes) -> dict[pd.Timestamp, dict[str, float]]:
    """What a plain script would do: row by row."""
    table = pd.read_csv(io.BytesIO(data), nrows=LOOP_ROWS)
    found = {}
    for _, row in table.iterrows():
        when = pd.Timestamp(row["time"], tz="UTC")
        found[when] = {name: float(row[name]) for name, *_ in COLUMNS}
    return found


__all__ = ["CASES", "run"]
