"""Answers of two open forecast services, as recorded; the expected numbers were counted on the files with Python's json."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from scheduling.access import fitting_starts
from scheduling.weather.readers import READERS, Reading, ReadRefused, read
from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.recipe import recipe_from_json
from scheduling.weather.series import Flag
from tests.shared import shared_path

TOLD = {"height_m": 10, "averaging_min": 60}


def proposed(content: bytes) -> Proposal:
    propose = READERS["json"].propose
    assert propose is not None
    found = propose(content, "file.json")
    assert found is not None
    return found


def read_as_proposed(path: Path | bytes, **answers: Any) -> Reading:
    """Read a file by what it says itself and the answers that it leaves open (height, averaging, stamp)."""
    content = path if isinstance(path, bytes) else path.read_bytes()
    recipe = dict(proposed(content).recipe)
    recipe["columns"] = [TOLD | one for one in recipe["columns"]]
    return read(content, recipe_from_json({"stamp": "start"} | recipe | answers))


@pytest.fixture(scope="module")
def six_hourly() -> Reading:
    return read_as_proposed(shared_path("data/metno_json/locationforecast_complete_with_headers.json"))


def test_hours_then_steps_of_six_hours(six_hourly: Reading) -> None:
    wind = six_hourly.of("wind")[0]
    assert (six_hourly.report.rows_read, six_hourly.report.step_min) == (82, 60)
    assert six_hourly.issued_at == datetime(2020, 7, 20, 1, 30, 57, tzinfo=UTC)
    assert (wind.flags[:55] == 0).all()
    assert (wind.flags[55:] == Flag.COARSE).all()
    assert np.isfinite(wind.values).sum() == 82
    assert (wind.usable()[:2].tolist(), six_hourly.report.last) == ([2.3, 2.7], datetime(2020, 7, 29, 6, tzinfo=UTC))


def test_no_window_of_three_hours_beyond_the_hourly_steps(six_hourly: Reading) -> None:
    calm = six_hourly.of("wind")[0].usable() <= 100.0
    starts = np.flatnonzero(fitting_starts(calm, 3))
    assert starts.tolist() == list(range(53))


def test_what_the_six_hourly_file_leaves_open() -> None:
    found = proposed(shared_path("data/metno_json/locationforecast_complete_with_headers.json").read_bytes())
    assert all("height_m" not in column and column["unit"] == "in text" for column in found.recipe["columns"])
    assert {"stamp", "averaging_min"}.isdisjoint(found.recipe)
    assert found.recipe["zone"] == "in text"
    wind = next(one["column"] for one in found.recipe["columns"] if one["variable"] == "wind")
    assert wind == "data.properties.timeseries[].data.instant.details.wind_speed"
    assert found.sources[f"columns.{wind}.unit"] == "the file: m/s"


def test_values_for_intervals_lose_no_hour() -> None:
    path = shared_path("data/nws_json/detailed_forecast.json")
    reading = read_as_proposed(path)
    wind, gust = reading.of("wind")[0], reading.of("gust")[0]
    assert reading.report.step_min == 60
    assert wind.start == datetime(2022, 2, 3, 21, tzinfo=UTC)
    assert np.isfinite(wind.usable()).sum() == 181
    assert wind.values[:3].tolist() == pytest.approx([20.372 / 3.6, 20.372 / 3.6, 16.668 / 3.6])
    assert (gust.usable()[:181] > wind.usable()[:181]).all()
    assert reading.issued_at == datetime(2022, 2, 4, 3, 15, 41, tzinfo=UTC)
    spans = json.loads(path.read_text())["properties"]["windSpeed"]["values"]
    assert len(spans) == 51, "one value per hour would lose 130 hours"


@pytest.mark.parametrize(("system", "degrees"), [("si", 25.5), ("us", (78 - 32) / 1.8)])
def test_text_speeds_and_units_beside_the_name(system: str, degrees: float) -> None:
    reading = read_as_proposed(shared_path(f"data/nws_json/gridpoints_forecast_hourly_{system}.json"))
    assert reading.of("wind")[0].values.tolist() == [0.0, 0.0]
    assert reading.of("temperature")[0].values[0] == pytest.approx(degrees)
    assert reading.of("direction")[0].values.tolist() == [180.0, 225.0]
    assert reading.report.first == datetime(2019, 10, 15, 0, tzinfo=UTC)
    assert reading.issued_at == datetime(2019, 10, 14, 23, 16, 24, tzinfo=UTC), "not when the answer was put together"


@pytest.mark.parametrize(("name", "wind", "degrees"), [("", 10.0, 10.0), ("_alternate_units", 10 / 3.6, (10 - 32) / 1.8)])
def test_units_per_value(name: str, wind: float, degrees: float) -> None:
    content = shared_path(f"data/nws_json/stations_observations{name}.json").read_bytes()
    assert [question.field for question in proposed(content).ask] == ["step_min"]
    reading = read_as_proposed(content, step_min=60)
    assert reading.of("wind")[0].values[0] == pytest.approx(wind)
    assert reading.of("temperature")[0].values[0] == pytest.approx(degrees)
    assert reading.of("dew_point")[0].values[0] == pytest.approx(10.0), "degC beside degF in one record"


def test_what_no_weather_can_be_is_flagged() -> None:
    content = shared_path("data/nws_json/stations_observations.json").read_text()
    record = json.loads(content)
    values = record["features"][0]["properties"]
    values["windSpeed"]["value"], values["temperature"]["value"] = 1000, -100
    reading = read_as_proposed(json.dumps(record).encode(), step_min=60)
    for variable in ("wind", "temperature"):
        assert reading.of(variable)[0].flags[0] & Flag.RANGE
        assert np.isnan(reading.of(variable)[0].usable()).all()


def test_a_feature_without_its_time_is_skipped_beside_one_that_has_it() -> None:
    whole = json.loads(shared_path("data/nws_json/stations_observations.json").read_text())
    bare = json.loads(shared_path("data/nws_json/stations_observations_missing_value.json").read_text())
    whole["features"] += bare["features"]
    report = read_as_proposed(json.dumps(whole).encode(), step_min=60).report
    assert (report.rows_read, report.rows_skipped) == (2, 1)


def test_a_typical_year_as_json_names_units_heights_and_zone() -> None:
    content = shared_path("data/pvgis_tmy/tmy_first48h.json").read_bytes()
    recipe = proposed(content).recipe
    heights = {one["variable"]: one.get("height_m") for one in recipe["columns"]}
    assert heights == {"temperature": 2.0, "humidity": None, "wind": 10.0, "direction": 10.0, "pressure": None}
    assert (recipe["zone"], recipe["time_format"]) == ("UTC", "%Y%m%d:%H%M")
    reading = read_as_proposed(content)
    assert (reading.report.rows_read, reading.of("pressure")[0].values[0]) == (48, 99_870.0)


@pytest.mark.parametrize(
    ("path", "match"),
    [
        ("nws_json/gridpoints_forecast_empty_us.json", "no list in it has items with a time"),
        ("nws_json/stations_observations_missing_value.json", "no list in it has items with a time"),
        ("metno_json/METJSONForecast.schema.json", "no list in it has items with a time"),
        ("brightwind_mast/mast_metadata_iea43.json", "no list in it has items with a time"),
    ],
)
def test_json_without_weather_is_refused_in_one_sentence(path: str, match: str) -> None:
    with pytest.raises(ReadRefused, match=match):
        proposed(shared_path(f"data/{path}").read_bytes())
