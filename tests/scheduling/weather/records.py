"""Open records as series, read with pandas: a second way in, beside our own readers."""

from __future__ import annotations

from datetime import UTC
from functools import cache

import numpy as np
import pandas as pd

from scheduling.weather.series import Series, series_of
from tests.shared import shared_path

Columns = list[tuple[str, str, float, float]]


def _series(table: pd.DataFrame, columns: Columns, step_min: int) -> tuple[Series, ...]:
    """(column, variable, height, averaging) of a table whose index is time; holes become rows without values."""
    grid = pd.date_range(table.index[0], table.index[-1], freq=f"{step_min}min")
    laid = table[~table.index.duplicated()].reindex(grid)
    start = grid[0].to_pydatetime()
    start = start if start.tzinfo else start.replace(tzinfo=UTC)
    return tuple(
        series_of(
            variable, laid[name].to_numpy(float), start=start, step_min=step_min, height_m=height, averaging_min=mean, name=name
        )
        for name, variable, height, mean in columns
    )


def _table(path: str, **how: object) -> pd.DataFrame:
    return pd.read_csv(shared_path(f"data/{path}"), **how)  # type: ignore[call-overload,no-any-return]


@cache
def mast() -> tuple[Series, ...]:
    """A met mast, a year of ten minutes: two booms at 80 m (the second dies in September), 40 m, gust, vane, air."""
    table = _table("brightwind_mast/mast_10min_2016-11_2017-10.csv", index_col=0, parse_dates=True)
    table["P2m"] *= 100.0
    winds: Columns = [("Spd80mN", "wind", 80, 10), ("Spd80mNMax", "gust", 80, 0.05), ("Spd80mS", "wind", 80, 10)]
    rest: Columns = [("Spd40mN", "wind", 40, 10), ("Dir78mS", "direction", 78, 10), ("T2m", "temperature", 2, 10)]
    return _series(table, [*winds, *rest, ("P2m", "pressure", 2, 10), ("RH2m", "humidity", 2, 10)], 10)


@cache
def merra2() -> tuple[Series, ...]:
    """Reanalysis, two years of hours."""
    table = _table("brightwind_merra2/merra2_hourly_2015_2016.csv", index_col=0, parse_dates=True)
    table["PS_hPa"] *= 100.0
    columns: Columns = [("WS50m_m/s", "wind", 50, 60), ("WD50m_deg", "direction", 50, 60), ("T2M_degC", "temperature", 2, 60)]
    return _series(table, [*columns, ("PS_hPa", "pressure", 2, 60)], 60)


@cache
def windpowerlib_2010() -> tuple[Series, ...]:
    """A model year of hours: wind at 10 and 80 m, temperature at 2 and 10 m, pressure."""
    table = _table("windpowerlib_weather/weather_2010_hourly_2row_header.csv", skiprows=[1], index_col=0)
    table.index = pd.to_datetime(table.index, utc=True)
    table[["temperature", "temperature.1"]] -= 273.15
    winds: Columns = [("wind_speed", "wind", 10, 60), ("wind_speed.1", "wind", 80, 60), ("temperature", "temperature", 2, 60)]
    return _series(table, [*winds, ("temperature.1", "temperature", 10, 60), ("pressure", "pressure", 2, 60)], 60)


@cache
def nacelle() -> tuple[Series, ...]:
    """The nacelle wind of R80711, a year of ten minutes."""
    table = _table("la_haute_borne/R80711_2014_10min.csv").dropna(subset=["Ws_avg"])
    table.index = pd.to_datetime(table["Date_time"], utc=True)
    return _series(table, [("Ws_avg", "wind", 80, 10), ("Ot_avg", "temperature", 80, 10)], 10)


@cache
def nacelle_in_utc() -> tuple[Series, ...]:
    """The same with the offsets of the text left off, which are wrong: the clock's bare numbers are UTC."""
    table = _table("la_haute_borne/R80711_2014_10min.csv").dropna(subset=["Ws_avg"])
    table.index = pd.to_datetime(table["Date_time"].str[:19])
    return _series(table.sort_index(), [("Ws_avg", "wind", 80, 10)], 10)


@cache
def era5() -> tuple[Series, ...]:
    """Reanalysis at the site of R80711, a year of hours; wind speed from u and v at 100 m."""
    table = _table("la_haute_borne/era5_hourly_2014.csv", index_col=0, parse_dates=True)
    table["wind"] = np.hypot(table["u_100"], table["v_100"])
    table["celsius"] = table["t_2m"] - 273.15
    columns: Columns = [("wind", "wind", 100, 60), ("celsius", "temperature", 2, 60), ("surf_pres", "pressure", 2, 60)]
    return _series(table, columns, 60)


@cache
def four_turbines(name: str) -> tuple[Series, ...]:
    """Nacelle wind, temperature and absolute wind direction of four turbines around a clock change."""
    table = _table(f"la_haute_borne/scada_10min_dst_{name}.csv")
    table.index = pd.to_datetime(table["Date_time"], utc=True)
    wide = table.groupby([table.index, "Wind_turbine_name"])[["Ws_avg", "Ot_avg", "Wa_avg"]].first().unstack()
    wide.columns = ["_".join(parts) for parts in wide.columns]
    kinds = {"Ws_avg": "wind", "Ot_avg": "temperature", "Wa_avg": "direction"}
    return _series(wide, [(column, kinds[column[:6]], 80, 10) for column in wide.columns], 10)


@cache
def wrf() -> tuple[Series, ...]:
    """Model wind at eight heights, a month of ten minutes."""
    table = _table("multiheight_wrf/WRF-Timeseries-4464.csv.gz", index_col=0, parse_dates=True)
    return _series(table, [(f"WS-{height}", "wind", height, 10) for height in (50, 75, 90, 100, 150, 200, 250, 500)], 10)


@cache
def typical_months() -> tuple[tuple[Series, ...], ...]:
    """A typical year of reanalysis in hours: twelve months, each of another year, joined smoothly by whoever made it."""
    head = shared_path("data/pvgis_tmy/tmy_45.000_8.000_2005_2023.csv").read_text(encoding="utf-8").splitlines()
    first = next(n for n, line in enumerate(head) if line.startswith("time(UTC)"))
    table = _table("pvgis_tmy/tmy_45.000_8.000_2005_2023.csv", skiprows=first, nrows=8760)
    table.index = pd.to_datetime(table["time(UTC)"], format="%Y%m%d:%H%M")
    columns: Columns = [
        ("WS10m", "wind", 10, 60),
        ("T2m", "temperature", 2, 60),
        ("SP", "pressure", 2, 60),
        ("RH", "humidity", 2, 60),
    ]
    return tuple(_series(month, columns, 60) for _, month in table.groupby(table.index.month))


@cache
def buoy() -> tuple[Series, ...]:
    """A buoy's wind and gust in whole m/s, direction in tens of degrees, two weeks of ten minutes."""
    table = _table("ndbc_buoy/41002_realtime_10min.txt", sep=r"\s+", skiprows=[1])
    parts = table.iloc[:, :5].set_axis(["year", "month", "day", "hour", "minute"], axis=1)
    table.index = pd.to_datetime(parts)
    numbers = table[["WSPD", "GST", "WDIR", "PRES"]].apply(pd.to_numeric, errors="coerce").sort_index()
    numbers["PRES"] *= 100.0
    winds: Columns = [("WSPD", "wind", 5, 8), ("GST", "gust", 5, 0.1), ("WDIR", "direction", 5, 8)]
    return _series(numbers, [*winds, ("PRES", "pressure", 2, 8)], 10)


@cache
def storm() -> tuple[Series, ...]:
    """A North Sea mast, thirteen days of ten minutes, with the storm in which it stops."""
    table = _table("northsea_storm/hkna_obs_10min.csv", index_col=0, parse_dates=True)
    return _series(table, [("wind_speed_ms", "wind", 10, 10)], 10)


def by_name(series: tuple[Series, ...]) -> dict[str, Series]:
    """The series by the column they came from."""
    return {one.name: one for one in series}
