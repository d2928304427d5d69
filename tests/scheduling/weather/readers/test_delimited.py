from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.readers import ReadRefused
from scheduling.weather.readers.delimited import read_delimited
from scheduling.weather.series import Flag
from tests.scheduling.weather.readers.recipes import recipe, text

ROWS = [f"2025-06-02 00:{minute:02}:00,{5 + minute / 10}" for minute in range(0, 60, 10)]


def test_a_plain_file() -> None:
    reading = read_delimited(text(*ROWS), recipe())
    (series,) = reading.series
    assert series.values.tolist() == [5, 6, 7, 8, 9, 10]
    assert (series.variable, series.height_m, series.averaging_min, series.step_min) == ("wind", 80, 10, 10)
    assert series.name == "ws"
    report = reading.report
    assert (report.rows_read, report.rows_skipped, report.duplicates, report.gaps) == (6, 0, 0, ())
    assert f"{report.first:%H:%M} {report.last:%H:%M}" == "00:00 00:50"


def test_km_h_are_not_m_s() -> None:
    as_read = read_delimited(text(*ROWS), recipe(column={"unit": "km/h"})).series[0]
    assert as_read.values[0] == pytest.approx(5 / 3.6)
    assert as_read.unit == "m/s"


def test_semicolons_decimal_commas_day_first_and_two_time_columns() -> None:
    data = text("02.06.25;00:00;12,5", "02.06.25;00:10;-", "02.06.25;00:20;7", head="Date;Time;ws")
    stated = recipe(delimiter=";", decimal=",", missing=["-"], time_columns=["Date", "Time"], time_format="%d.%m.%y %H:%M")
    (series,) = read_delimited(data, stated).series
    assert series.values[[0, 2]].tolist() == [12.5, 7.0]
    assert series.flags.tolist() == [0, Flag.MISSING, 0]
    assert f"{series.start:%Y-%m-%d}" == "2025-06-02"


def test_rows_with_nothing_but_their_key_are_counted() -> None:
    reading = read_delimited(text(*ROWS, "2025-06-02 01:00:00,", "2025-06-02 01:10:00,5"), recipe())
    assert (reading.report.rows_read, reading.report.rows_skipped) == (8, 1)
    assert reading.report.gaps == ()
    assert np.isnan(reading.series[0].usable()[6])


def test_a_missing_value_opens_no_window() -> None:
    rows = ["2025-06-02 00:00,6", "2025-06-02 01:00,6", "2025-06-02 02:00,null", "2025-06-02 03:00,6"]
    usable = read_delimited(text(*rows), recipe()).series[0].usable()
    assert (usable <= 12).tolist() == [True, True, False, True]


def test_shuffled_and_repeated_rows_give_the_same_answer() -> None:
    straight = read_delimited(text(*ROWS), recipe())
    mixed = read_delimited(text(ROWS[3], *ROWS[::-1]), recipe())
    np.testing.assert_array_equal(straight.series[0].values, mixed.series[0].values)
    assert mixed.report.duplicates == 1
    assert mixed.report.conflicts == ()


def test_the_report_is_plain_json() -> None:
    rows = [*ROWS, "2025-06-02 00:10:00,9", "2025-06-02 02:00:00,99"]
    plain = read_delimited(text(*rows), recipe()).report.to_json()
    assert plain["first"] == "2025-06-02T00:00:00+00:00"
    assert plain["conflicts"] == [{"column": "ws", "time": "2025-06-02T00:10:00+00:00", "values": [6.0, 9.0]}]
    assert plain["gaps"][0]["steps"] == 6
    assert {flag["rule"] for flag in plain["flags"]} == {"CONFLICT", "RANGE"}


def test_of_names_the_missing_variable() -> None:
    reading = read_delimited(text(*ROWS), recipe())
    assert reading.of("wind") == reading.series
    with pytest.raises(ValueError, match="gust: the recipe names no such column"):
        reading.of("gust")


def test_a_bad_cell_refuses_the_whole_file() -> None:
    with pytest.raises(ReadRefused, match="line 4, column ws: 'calm' is no number"):
        read_delimited(text(ROWS[0], ROWS[1], "2025-06-02 00:20:00,calm", ROWS[3]), recipe())
