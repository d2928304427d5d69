"""Open records with known faults; the expected numbers were counted on the files with pandas."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from scheduling.access import fitting_starts, inside_windows, longest_window
from scheduling.weather.gust import averaging_factor
from scheduling.weather.readers import Reading, ReadRefused, read
from scheduling.weather.recipe import Recipe, recipe_from_json
from scheduling.weather.series import Flag
from tests.shared import shared_path

RECIPES = Path(__file__).resolve().parents[4] / "fixtures" / "recipes"
DEAD_FROM = datetime(2017, 9, 4, 0, 30, tzinfo=UTC)


def ours(name: str) -> Recipe:
    return recipe_from_json((RECIPES / f"{name}.json").read_text(encoding="utf-8"))


def only_columns(recipe: Recipe, *names: str) -> Recipe:
    return replace(recipe, columns=tuple(one for one in recipe.columns if one.column in names))


@pytest.fixture(scope="module")
def mast() -> Reading:
    return read(shared_path("data/brightwind_mast/mast_10min_2016-11_2017-10.csv"), ours("brightwind_mast"))


def test_reanalysis_of_two_years() -> None:
    reading = read(shared_path("data/brightwind_merra2/merra2_hourly_2015_2016.csv"), ours("brightwind_merra2"))
    wind = reading.of("wind")[0]
    assert (reading.report.rows_read, reading.report.step_min, reading.report.gaps) == (17_544, 60, ())
    assert (wind.usable() <= 12).mean() == pytest.approx(0.865, abs=5e-4)
    assert reading.of("pressure")[0].values[0] == pytest.approx(99_790)


@pytest.mark.parametrize(("unit", "share"), [("km/h", 1.0), ("m/s", 0.865)])
def test_a_wrong_unit_would_open_everything(unit: str, share: float) -> None:
    recipe = only_columns(ours("brightwind_merra2"), "WS50m_m/s")
    recipe = replace(recipe, columns=(replace(recipe.columns[0], unit=unit),))
    wind = read(shared_path("data/brightwind_merra2/merra2_hourly_2015_2016.csv"), recipe).series[0]
    assert (wind.usable() <= 12).mean() == pytest.approx(share, abs=5e-4)


def test_the_dead_boom_is_flagged_and_opens_no_window(mast: Reading) -> None:
    good, dead, _ = mast.of("wind")
    first = dead.index(DEAD_FROM)
    assert (dead.values[first:] == 0.0).all()
    assert (dead.flags[first:] & Flag.DEAD).all()
    assert not (dead.flags[:first] & Flag.DEAD).any()
    assert not (dead.usable()[first:] <= 12).any()
    assert not good.flags.any()
    hour_later = first + 3
    assert (good.usable()[hour_later:] <= 12).mean() == pytest.approx(0.8265, abs=5e-5)
    assert ((good.values[hour_later:] > 12) & (dead.values[hour_later:] == 0)).sum() == 1_448
    run = next(run for run in mast.report.flags if run.rule == "DEAD")
    assert (run.column, run.start, run.rows) == ("Spd80mS", DEAD_FROM, 8_349)


def test_start_slots_for_a_six_hour_window(mast: Reading) -> None:
    calm = mast.of("wind")[0].usable() <= 12
    assert fitting_starts(calm, 36).sum() == 34_639
    hourly = mast.of("wind")[0].values.reshape(-1, 6).mean(axis=1) <= 12
    assert fitting_starts(hourly, 6).sum() * 6 == 39_804


def test_gusts_are_kept_apart_from_means(mast: Reading) -> None:
    wind, gust = mast.of("wind")[0], mast.of("gust")[0]
    assert gust.averaging_min == 0.05
    assert (wind.values <= 12).mean() == pytest.approx(0.855, abs=5e-4)
    assert (gust.values <= 12).mean() == pytest.approx(0.676, abs=5e-4)


def test_raising_an_hourly_mean_to_its_peaks_hides_fewer_hours(mast: Reading) -> None:
    tens = mast.of("wind")[0].values.reshape(-1, 6)
    hourly, peaks = tens.mean(axis=1), tens.max(axis=1)
    assert ((hourly <= 12) & (peaks > 12)).sum() == 612
    assert ((hourly * averaging_factor(60, 10) <= 12) & (peaks > 12)).sum() == pytest.approx(210, abs=10)


def test_an_outage_is_counted_in_time_not_in_rows() -> None:
    recipe = only_columns(ours("brightwind_mast"), "Spd80mN", "Spd80mS", "Spd40mN")
    reading = read(shared_path("data/brightwind_mast/mast_gap_may2016.csv"), recipe)
    (gap,) = reading.report.gaps
    assert (gap.start, gap.end) == (datetime(2016, 5, 11, 23, 10, tzinfo=UTC), datetime(2016, 5, 31, 15, 20, tzinfo=UTC))
    wind = reading.of("wind")[0]
    calm = wind.usable() <= 12
    longest = longest_window(calm)
    assert longest is not None
    assert longest[1] == 147
    rows_only = longest_window(calm[wind.flags == 0])
    assert rows_only is not None
    assert rows_only[1] == 196
    assert not inside_windows(calm, 2)[wind.index(gap.start) : wind.index(gap.end)].any()


def test_day_first_stamps_with_a_byte_order_mark() -> None:
    recipe = only_columns(ours("brightwind_mast"), "Spd80mN")
    path = "data/brightwind_mast/mast_dayfirst_bom.csv"
    with pytest.raises(ReadRefused, match="line 2: '09/01/2016 15:30' is no time of the form 'iso'"):
        read(shared_path(path), recipe)
    stated = replace(recipe, time_format="%d/%m/%Y %H:%M")
    assert read(shared_path(path), stated).report.first == datetime(2016, 1, 9, 15, 30, tzinfo=UTC)
    offset = replace(recipe, time_format="%d/%m/%Y %H:%M:%S%z", zone="in text")
    first = read(shared_path("data/brightwind_mast/mast_dayfirst_with_offset.csv"), offset).report.first
    assert first == datetime(2016, 1, 9, 15, 30, tzinfo=UTC)


def nacelle(**only: str) -> Recipe:
    column = {"column": "Ws_avg", "variable": "wind", "unit": "m/s", "height_m": 80, "averaging_min": 10}
    return recipe_from_json(
        {
            "name": "nacelle",
            "columns": [column],
            "time_columns": ["Date_time"],
            "time_format": "iso",
            "stamp": "start",
            "zone": "in text",
            "only": only,
        }
    )


def test_wrong_clock_changes_are_kept_and_flagged_not_overwritten() -> None:
    reading = read(shared_path("data/la_haute_borne/R80711_2014_10min.csv"), nacelle())
    report = reading.report
    assert (report.rows_read, report.rows_skipped, report.duplicates) == (52_560, 147, 6)
    assert [len(conflict.values) for conflict in report.conflicts] == [2] * 6
    assert (reading.series[0].flags & Flag.CONFLICT > 0).sum() == 6
    (gap,) = report.gaps
    assert (gap.start, gap.steps) == (datetime(2014, 10, 26, tzinfo=UTC), 6)


@pytest.mark.parametrize("turbine", ["R80711", "R80721", "R80736", "R80790"])
def test_each_turbine_of_an_interleaved_file_on_its_own(turbine: str) -> None:
    recipe = nacelle(Wind_turbine_name=turbine)
    spring = read(shared_path("data/la_haute_borne/scada_10min_dst_spring_2014.csv"), recipe).report
    autumn = read(shared_path("data/la_haute_borne/scada_10min_dst_autumn_2014.csv"), recipe).report
    assert (spring.duplicates, len(spring.conflicts), spring.gaps) == (6, 6, ())
    assert (autumn.duplicates, [gap.steps for gap in autumn.gaps]) == (0, [6])


def test_a_mast_that_stops_in_the_storm_is_not_calm() -> None:
    column = {"column": "obs_ms", "variable": "wind", "unit": "m/s", "height_m": 10, "averaging_min": 10}
    recipe = recipe_from_json(
        {
            "name": "storm",
            "columns": [column],
            "time_columns": ["time"],
            "time_format": "iso",
            "stamp": "start",
            "zone": "UTC",
            "only": {"station": "HKNA"},
        }
    )
    wind = read(shared_path("data/northsea_storm/model_vs_obs_hourly.csv"), recipe).series[0]
    assert (wind.usable() <= 12).sum() == 16


def test_km_h_with_decimal_commas_newest_first() -> None:
    path = shared_path("data/dwd_obs/current_obs_decimal_comma_kmh.csv")
    head = path.read_text(encoding="utf-8").splitlines()
    names, units = head[0].split(";"), head[1].split(";")
    wind = next(i for i, name in enumerate(names) if name.startswith("mean_wind_speed"))
    assert units[wind].lower() == "km/h"
    recipe = recipe_from_json(
        {
            "name": "station",
            "columns": [
                {"column": names[wind], "variable": "wind", "unit": "km/h", "height_m": 10, "averaging_min": 10},
                {
                    "column": "dry_bulb_temperature_at_2_meter_above_ground",
                    "variable": "temperature",
                    "unit": "degC",
                    "height_m": 2,
                    "averaging_min": 10,
                },
            ],
            "time_columns": names[:2],
            "time_format": "%d.%m.%y %H:%M",
            "stamp": "end",
            "zone": "UTC",
            "delimiter": ";",
            "decimal": ",",
            "missing": ["---"],
            "skip_after": 2,
        }
    )
    reading = read(path, recipe)
    newest = head[3].split(";")
    assert reading.series[0].values[-1] == pytest.approx(float(newest[wind].replace(",", ".")) / 3.6)
    assert np.nanmax(reading.series[0].values) < 25


def test_padded_columns_sentinels_and_jumps_of_months() -> None:
    column = {"column": "F", "variable": "wind", "unit": "m/s", "height_m": 10, "averaging_min": 60}
    direction = column | {"column": "D", "variable": "direction", "unit": "deg"}
    recipe = recipe_from_json(
        {
            "name": "station",
            "columns": [column, direction],
            "time_columns": ["MESS_DATUM"],
            "time_format": "%Y%m%d%H",
            "stamp": "start",
            "zone": "UTC",
            "delimiter": ";",
            "missing": ["-999"],
        }
    )
    reading = read(shared_path("data/dwd_obs/produkt_ff_stunde_20180915_20200317_04911.txt"), recipe)
    wind, turned = reading.series
    at = wind.index(datetime(2019, 4, 20, 21, tzinfo=UTC))
    assert np.isnan(wind.usable()[at])
    assert not np.isnan(turned.values[at])
    assert len(reading.report.gaps) == 2
