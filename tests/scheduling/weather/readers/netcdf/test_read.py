from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

from scheduling.weather.readers import READERS, ReadRefused, read
from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.netcdf import opening
from scheduling.weather.recipe import RecipeIncomplete, recipe_from_json
from scheduling.weather.series import Flag
from tests.scheduling.weather.readers.netcdf_files import HOURS, column, dataset, grid, packed, recipe
from tests.shared import shared_path

ROOT = Path(__file__).resolve().parents[5]


def proposed(content: bytes) -> Proposal:
    propose = READERS["netcdf"].propose
    assert propose is not None
    found = propose(content, "file.nc")
    assert found is not None
    return found


@pytest.mark.parametrize("engine", ["h5netcdf", "scipy"])
def test_a_series_with_units_fill_values_and_packing(tmp_path: Path, engine: str) -> None:
    data = dataset([36.0, np.nan, 18.0], units="km h-1")
    data["ws"].encoding = {"dtype": "i2", "scale_factor": 0.5, "_FillValue": -999}
    reading = read(packed(data, tmp_path, engine), recipe(column("ws")))
    wind = reading.series[0]
    assert wind.usable().tolist() == pytest.approx([10.0, np.nan, 5.0], nan_ok=True)
    assert (wind.start, wind.step_min, wind.flags[1]) == (datetime(2025, 6, 2, tzinfo=UTC), 60, Flag.MISSING)
    ended = read(packed(data, tmp_path, engine), recipe(column("ws"), stamp="end"))
    assert ended.report.first == datetime(2025, 6, 1, 23, tzinfo=UTC)


def test_components_make_speed_and_the_direction_the_wind_comes_from(tmp_path: Path) -> None:
    data = dataset([3.0, 0.0, -5.0], name="u100").assign(v100=("time", [4.0, -2.0, 0.0], {"units": "m s**-1"}))
    data["u100"].attrs["units"] = "m s**-1"
    columns = column("speed(u100, v100)", height_m=100), column("direction(u100, v100)", "direction", height_m=100)
    wind, direction = read(packed(data, tmp_path), recipe(*columns)).series
    assert wind.values.tolist() == pytest.approx([5.0, 2.0, 5.0])
    # Towards the north-east is from the south-west; towards the south from north; towards the west from east.
    assert direction.values.tolist() == pytest.approx([180 + np.degrees(np.arctan2(3, 4)), 0.0, 90.0])


@pytest.mark.parametrize(
    ("text", "variable", "match"),
    [
        ("speed(u100, u10)", "wind", "components are in km h-1 and m s-1"),
        ("speed(u100, u100)", "temperature", "makes the speed of the wind, not temperature"),
        ("direction(u100, u100)", "wind", "makes the direction of the wind"),
        ("speed(u100)", "wind", "write the name of a variable"),
        ("sped(u100, v)", "wind", "write the name of a variable"),
        ("v100", "wind", "variable 'v100' is not in the file; it has u100, u10"),
    ],
)
def test_components_that_do_not_belong_together(tmp_path: Path, text: str, variable: str, match: str) -> None:
    data = dataset([3.0, 0.0], name="u100").assign(u10=("time", [4.0, 2.0], {"units": "km h-1"}))
    unit = "K" if variable == "temperature" else "in text"
    with pytest.raises(ReadRefused, match=match):
        read(packed(data, tmp_path), recipe(column(text, variable, unit=unit)))


def test_the_nearest_point_is_taken_and_told(tmp_path: Path) -> None:
    values = np.arange(2 * 2 * 3, dtype=float).reshape(2, 2, 3)
    content = packed(grid([54.0, 55.0], [359.0, 0.0, 1.0], values), tmp_path)
    with pytest.raises(RecipeIncomplete, match=r"The file has 6 grid points, 54\.000 N 1\.000 W to 55\.000 N .* E") as caught:
        read(content, recipe(column("ws")))
    assert [question.field for question in caught.value.ask] == ["only.latitude", "only.longitude"]
    reading = read(content, recipe(column("ws"), only={"latitude": "54.9", "longitude": "-0.9"}))
    assert reading.series[0].values.tolist() == [3.0, 9.0]
    # One degree of latitude is 111.19 km on a sphere of 6371.0088 km: FACTS K13 has 11.12 km for a tenth.
    assert reading.report.notes == ("Grid point 55.000 N 1.000 W, 12.8 km from 54.900 N 0.900 W.",)


@pytest.mark.parametrize(
    ("only", "match"),
    [
        ({"latitude": "12", "longitude": "0"}, r"12\.000 N 0\.000 E lies 4,670 km from the nearest grid point"),
        ({"latitude": "north", "longitude": "0"}, "only.latitude: 'north' is no latitude"),
        ({"latitude": "91", "longitude": "0"}, "only.latitude: '91' is no latitude"),
    ],
)
def test_a_place_off_the_grid_is_refused(tmp_path: Path, only: dict[str, str], match: str) -> None:
    content = packed(grid([54.0, 55.0], [0.0, 1.0], np.zeros((2, 2, 2))), tmp_path)
    with pytest.raises(ReadRefused, match=match):
        read(content, recipe(column("ws"), only=only))


def test_a_grid_turned_against_north_has_its_points_in_two_dimensions(tmp_path: Path) -> None:
    data = dataset(np.arange(8.0).reshape(2, 2, 2), ("time", "y", "x"))
    places = {"lat": (("y", "x"), [[54.0, 54.1], [55.0, 55.1]]), "lon": (("y", "x"), [[7.0, 8.0], [6.9, 7.9]])}
    content = packed(data.assign_coords(places), tmp_path)
    reading = read(content, recipe(column("ws"), only={"latitude": "55.1", "longitude": "7.8"}))
    assert reading.series[0].values.tolist() == [3.0, 7.0]


def test_an_ensemble_gives_one_series_a_member_none_the_neighbour_of_another(tmp_path: Path) -> None:
    values = np.array([[0.0, 9.0]] * 8)
    reading = read(packed(dataset(values, ("time", "number")), tmp_path), recipe(column("ws")))
    assert [(one.member, one.name) for one in reading.series] == [(1, "ws [1]"), (2, "ws [2]")]
    assert reading.members == 2
    assert reading.series[1].values.tolist() == [9.0] * 8
    short = read(packed(dataset(values[:4], ("time", "number")), tmp_path), recipe(column("ws")))
    assert not (short.series[0].flags & Flag.DEAD).any(), "a calm member is not dead because another blows"


def test_levels_are_chosen_in_the_column_or_for_all(tmp_path: Path) -> None:
    data = dataset([[1.0, 2.0], [3.0, 4.0]], ("time", "height"))
    data = data.assign_coords(height=("height", [10.0, 100.0], {"units": "m", "standard_name": "height"}))
    content = packed(data, tmp_path)
    with pytest.raises(RecipeIncomplete, match=r"Which height of ws\? \(only\.height: 10, 100\)"):
        read(content, recipe(column("ws")))
    low, high = read(content, recipe(column("ws[height=10]"), column("ws[height=100.0]", height_m=100))).series
    assert (low.values.tolist(), high.values.tolist()) == ([1.0, 3.0], [2.0, 4.0])
    assert read(content, recipe(column("ws"), only={"height": "10"})).series[0].values.tolist() == [1.0, 3.0]
    with pytest.raises(ReadRefused, match=r"the file says 100 m \(the coordinate height\), the recipe 10 m"):
        read(content, recipe(column("ws[height=100]")))
    with pytest.raises(ReadRefused, match="the file has no height '50'; it has 10, 100"):
        read(content, recipe(column("ws[height=50]")))


def test_bounds_tell_the_start_of_each_step(tmp_path: Path) -> None:
    data = dataset([1.0, 2.0, 3.0]).assign(edges=(("time", "two"), [[0.0, 1.0], [1.0, 2.0], [2.0, 3.0]]))
    data = data.assign_coords(time=("time", [0.5, 1.5, 2.5], HOURS | {"bounds": "edges"}))
    content = packed(data, tmp_path)
    assert read(content, recipe(column("ws"))).report.first == datetime(2025, 6, 2, tzinfo=UTC)
    assert proposed(content).recipe["stamp"] == "start"
    with pytest.raises(ReadRefused, match="the file gives the bounds of each step itself"):
        read(content, recipe(column("ws"), stamp="end"))


def test_steps_that_grow_are_coarse_here_too(tmp_path: Path) -> None:
    data = dataset(np.ones(6)).assign_coords(time=("time", [0, 1, 2, 8, 14, 20], HOURS))
    wind = read(packed(data, tmp_path), recipe(column("ws"))).series[0]
    assert np.flatnonzero(wind.flags == 0).tolist() == [0, 1]


def test_the_run_a_forecast_comes_from(tmp_path: Path) -> None:
    data = dataset([1.0, 2.0]).assign_coords(
        run=((), 6, {"units": "hours since 2025-06-01", "standard_name": "forecast_reference_time"})
    )
    content = packed(data, tmp_path)
    assert read(content, recipe(column("ws"))).issued_at == datetime(2025, 6, 1, 6, tzinfo=UTC)
    assert "issued at 2025-06-01 06:00 UTC" in proposed(content).notes[0]


def test_several_times_are_asked_about_and_two_dimensions_of_time_refused(tmp_path: Path) -> None:
    data = dataset([1.0, 2.0]).assign_coords(seen=("time", [5, 6], {"units": "hours since 2025-06-02"}))
    content = packed(data, tmp_path)
    with pytest.raises(RecipeIncomplete, match="Which times does ws hold for"):
        read(content, recipe(column("ws")))
    assert read(content, recipe(column("ws"), time_columns=["seen"])).report.first == datetime(2025, 6, 2, 5, tzinfo=UTC)
    runs = xarray.Dataset({"ws": (("run", "step"), np.ones((2, 3)), {"units": "m s-1"})})
    runs = runs.assign_coords(valid=(("run", "step"), np.arange(6).reshape(2, 3), HOURS))
    with pytest.raises(ReadRefused, match="several runs"):
        read(packed(runs, tmp_path), recipe(column("ws")))


@pytest.mark.parametrize(
    ("attrs", "match"),
    [
        ({"calendar": "360_day"}, "its calendar '360_day' is not ours"),
        ({"calendar": "noleap"}, "its calendar 'noleap' is not ours"),
        ({"units": "months since 2025-01-01"}, "count no time as CF has it"),
        ({"units": "hours since 0001-01-01", "calendar": "standard"}, "counts from the year 1, before our calendar"),
        ({"units": "days since 2025-01-01"}, ""),
        ({"units": "hours since 2025-13-01"}, "count from a time that does not exist"),
        ({"units": "hours since 1400-01-01", "calendar": "proleptic_gregorian"}, "lie outside 1900 to 2200"),
    ],
)
def test_calendars_and_counts_that_are_not_ours_are_refused(tmp_path: Path, attrs: dict[str, str], match: str) -> None:
    content = packed(dataset([1.0, 2.0]).assign_coords(time=("time", [0, 1], HOURS | attrs)), tmp_path)
    if not match:
        assert read(content, recipe(column("ws"))).report.step_min == 1440
        return
    with pytest.raises(ReadRefused, match=match):
        read(content, recipe(column("ws")))


def test_what_the_recipe_and_the_file_must_agree_on(tmp_path: Path) -> None:
    content = packed(dataset([1.0, 2.0]), tmp_path)
    with pytest.raises(ReadRefused, match="variable ws: the file says m/s, the recipe kn"):
        read(content, recipe(column("ws", unit="kn")))
    with pytest.raises(ReadRefused, match="zone: NetCDF counts its times in UTC"):
        read(content, recipe(column("ws"), zone="Europe/Berlin"))
    bare = dataset([1.0, -99.0])
    del bare["ws"].attrs["units"]
    content = packed(bare, tmp_path)
    with pytest.raises(ReadRefused, match="variable ws: the file names no unit for it"):
        read(content, recipe(column("ws")))
    stated = read(content, recipe(column("ws", unit="kn"), missing=["-99"])).series[0]
    assert stated.usable().tolist() == pytest.approx([1852 / 3600, np.nan], nan_ok=True)


def test_what_a_file_says_about_itself(tmp_path: Path) -> None:
    data = dataset([3.0, 0.0], name="u100").assign(
        v100=("time", [4.0, 2.0], {"units": "m s-1"}),
        t2m=("time", [280.0, 281.0], {"units": "K", "long_name": "2 metre temperature"}),
        i10fg=("time", [9.0, 9.0], {"units": "m s**-1"}),
        depth=("time", [9.0, 9.0], {"units": "m", "standard_name": "sea_floor_depth"}),
    )
    content = packed(data, tmp_path)
    found = proposed(content)
    told = {one["column"]: (one["variable"], one.get("unit"), one.get("height_m")) for one in found.recipe["columns"]}
    assert told == {
        "speed(u100, v100)": ("wind", "in text", 100.0),
        "direction(u100, v100)": ("direction", "in text", 100.0),
        "t2m": ("temperature", "in text", 2.0),
        "i10fg": ("gust", "in text", 10.0),
    }
    complete = {"stamp": "start", **found.recipe, "columns": [one | {"averaging_min": 60} for one in found.recipe["columns"]]}
    assert read(content, recipe_from_json(complete)).of("temperature")[0].values[0] == pytest.approx(6.85)


def test_heights_along_a_dimension_become_columns(tmp_path: Path) -> None:
    data = dataset([[1.0, 2.0], [3.0, 4.0]], ("time", "height"), standard_name="wind_speed")
    data = data.assign_coords(height=("height", [10.0, 100.0], {"units": "m", "standard_name": "height"}))
    told = [(one["column"], one["height_m"]) for one in proposed(packed(data, tmp_path)).recipe["columns"]]
    assert told == [("ws[height=10]", 10.0), ("ws[height=100]", 100.0)]


def test_waves_of_a_reanalysis_off_the_dutch_coast() -> None:
    content = shared_path("data/grib_netcdf/ERA5_DutchCoast.nc").read_bytes()
    found = proposed(content)
    assert [question.field for question in found.ask] == ["only.latitude", "only.longitude"]
    columns = [one | {"height_m": 0, "averaging_min": 60} for one in found.recipe["columns"]]
    at_sea = dict(found.recipe) | {"stamp": "start", "columns": columns, "only": {"latitude": "52.2", "longitude": "3.3"}}
    reading = read(content, recipe_from_json(at_sea))
    assert (reading.report.rows_read, reading.report.step_min) == (67, 60)
    assert reading.report.first == datetime(2017, 10, 27, tzinfo=UTC)
    # Against xarray's own reading of the point.
    own = xarray.open_dataset(shared_path("data/grib_netcdf/ERA5_DutchCoast.nc"), engine="h5netcdf")
    point = own.sel(latitude=52.0, longitude=3.5)
    assert reading.of("wave_height")[0].values == pytest.approx(point.swh.values)
    assert reading.of("wave_period")[0].values == pytest.approx(point.mwp.values)
    assert str(point.time.values[0]) == "2017-10-27T00:00:00.000000000"
    with pytest.raises(ReadRefused, match="mwp has no value at all there"):
        read(content, recipe_from_json(at_sea | {"only": {"latitude": "52.2", "longitude": "5.6"}}))


def test_files_that_are_not_read_are_refused_in_one_sentence() -> None:
    grib = shared_path("data/grib_netcdf/era5-levels-corrupted.grib").read_bytes()
    with pytest.raises(ReadRefused, match="GRIB is not read: convert it to NetCDF"):
        proposed(grib)
    cut = shared_path("data/grib_netcdf/ERA5_DutchCoast.nc").read_bytes()[:100_000]
    with pytest.raises(ReadRefused, match="The file is no NetCDF that can be read"):
        proposed(cut)


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"CDF\x05rest", "64-bit data"),
        (b"time,ws\n", "first bytes"),
        (b"CDF\x01rest", "no NetCDF that can be read"),
        (b"", "first bytes"),
    ],
)
def test_other_bytes_are_refused(content: bytes, match: str) -> None:
    with pytest.raises(ReadRefused, match=match):
        read(content, recipe(column("ws")))


def test_damage_that_shows_only_when_values_are_read_is_refused(tmp_path: Path) -> None:
    data = dataset(np.sin(np.arange(5000.0)))
    data["ws"].encoding = {"zlib": True, "chunksizes": (5000,)}
    content = bytearray(packed(data, tmp_path))
    middle = len(content) // 2
    content[middle : middle + 2000] = bytes(2000)
    with pytest.raises(ReadRefused, match="The file is no NetCDF that can be read"):
        read(bytes(content), recipe(column("ws")))


def test_other_files_are_none_of_ours() -> None:
    propose = READERS["netcdf"].propose
    assert propose is not None
    assert propose(b"time,ws\n", "file.csv") is None


def test_without_its_libraries_the_cure_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    content = packed(dataset([1.0, 2.0]), tmp_path)
    monkeypatch.setitem(__import__("sys").modules, "xarray", None)
    with pytest.raises(
        ReadRefused, match=r"NetCDF needs xarray .* pip install -r scheduling/weather/readers/netcdf/requirements\.txt"
    ):
        read(content, recipe(column("ws")))


def test_large_chunks_and_long_series_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = dataset(np.ones(100))
    data["ws"].encoding = {"chunksizes": (100,)}
    content = packed(data, tmp_path)
    monkeypatch.setattr(opening, "MAX_CHUNK_BYTES", 100)
    with pytest.raises(ReadRefused, match="packed in pieces of 800 bytes"):
        read(content, recipe(column("ws")))


def pins(path: str) -> dict[str, str]:
    lines = [line.split("#")[0].strip() for line in (ROOT / path).read_text().splitlines()]
    return dict(line.split("==") for line in lines if "==" in line)


def test_the_tests_run_on_the_versions_that_are_told_to_users() -> None:
    told: dict[str, Any] = pins("scheduling/weather/readers/netcdf/requirements.txt")
    assert told.items() <= (pins("requirements.txt") | pins("tests/requirements.txt")).items()
