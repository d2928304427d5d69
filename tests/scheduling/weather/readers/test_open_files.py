"""Every file of forecast services and reanalyses that is here: read once told what it does not say, or refused in a sentence."""

from __future__ import annotations

import pytest

from scheduling.weather.inspect import inspect_file
from scheduling.weather.inspect.answers import Answers
from tests.shared import shared_path

TOLD = Answers(heights={"*": 10.0}, averagings={"*": 60.0}, stamp="start")
ONE_TIME = Answers(heights={"*": 10.0}, averagings={"*": 60.0}, stamp="start", step_min=60)
AT_SEA = Answers(heights={"*": 0.0}, averagings={"*": 60.0}, stamp="start", only={"latitude": "52.2", "longitude": "3.3"})

#: file -> (what it must be told, the answers, rows then read)
READ = {
    "metno_json/locationforecast_complete_with_headers.json": ({"stamp", "height_m"}, TOLD, 82),
    "nws_json/detailed_forecast.json": ({"height_m"}, TOLD, 561),
    "nws_json/gridpoints_forecast_hourly_si.json": ({"height_m"}, TOLD, 2),
    "nws_json/gridpoints_forecast_hourly_us.json": ({"height_m"}, TOLD, 2),
    "nws_json/stations_observations.json": ({"step_min", "stamp", "height_m"}, ONE_TIME, 1),
    "nws_json/stations_observations_alternate_units.json": ({"step_min", "stamp", "height_m"}, ONE_TIME, 1),
    "pvgis_tmy/tmy_first48h.json": ({"stamp"}, TOLD, 48),
    "grib_netcdf/ERA5_DutchCoast.nc": ({"latitude", "longitude", "stamp"}, AT_SEA, 67),
}
REFUSED = {
    "nws_json/gridpoints_forecast_empty_us.json": "no list in it has items with a time",
    "nws_json/stations_observations_missing_value.json": "no list in it has items with a time",
    "metno_json/METJSONForecast.schema.json": "no list in it has items with a time",
    "grib_netcdf/era5-levels-corrupted.grib": "GRIB is not read: convert it to NetCDF",
}


@pytest.mark.parametrize("name", READ)
def test_a_file_asks_for_what_it_does_not_say_and_is_then_read(name: str) -> None:
    asked, answers, rows = READ[name]
    path = shared_path(f"data/{name}")
    bare = inspect_file(path, path.name)
    assert not bare.accepted
    assert {one.field.rpartition(".")[2] for one in bare.ask} - {"averaging_min"} == asked
    told = inspect_file(path, path.name, answers)
    assert told.accepted, told.reason
    assert told.report is not None
    assert told.report.rows_read == rows


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_without_weather_is_refused_in_a_sentence(name: str) -> None:
    path = shared_path(f"data/{name}")
    outcome = inspect_file(path, path.name, TOLD)
    assert not outcome.accepted
    assert outcome.ask == ()
    assert REFUSED[name] in outcome.reason
    assert "\n" not in outcome.reason
