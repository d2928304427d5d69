from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.weather.readers import ReadRefused, read
from scheduling.weather.readers.json_series import document as documents
from scheduling.weather.series import Flag
from scheduling.weather.slots import to_slots
from tests.scheduling.weather.readers.json_files import column, document, hours, json_recipe


def refused(data: bytes, match: str, *columns: dict[str, Any], **changes: Any) -> None:
    with pytest.raises(ReadRefused, match=match):
        read(data, json_recipe(*columns, **changes))


def test_values_as_numbers_texts_and_nulls_in_any_order() -> None:
    items = hours(3, "4.5", None, "", "NA")
    reading = read(document(hours=items[::-1]), json_recipe())
    wind = reading.series[0]
    assert wind.start == datetime(2025, 6, 2, tzinfo=UTC)
    assert wind.usable().tolist()[:2] == [3.0, 4.5]
    assert (wind.flags[2:] == Flag.MISSING).all()
    assert (reading.report.rows_read, reading.report.rows_skipped) == (5, 3)


def test_items_without_a_time_and_empty_objects_are_skipped_and_counted() -> None:
    items = [*hours(3, 4), {}, {"time": None, "wind": 9}, {"time": "", "wind": 9}]
    report = read(document(hours=items), json_recipe()).report
    assert (report.rows_read, report.rows_skipped) == (5, 3)
    refused(document(hours=[{}, {}]), r"hours\[\]\.time: none of the 2 items has a time")


def test_a_sentinel_named_as_text_is_missing_as_a_number_too() -> None:
    reading = read(document(hours=hours(3, -999, "-999.0")), json_recipe(missing=["-999"]))
    assert (reading.series[0].flags[1:] == Flag.MISSING).all()


def test_units_per_value_are_converted_each_by_its_own() -> None:
    values = [
        {"value": 36, "unitCode": "unit:km_h-1"},
        {"value": 10, "unitCode": "wmoUnit:m_s-1"},
        {"value": None},
    ]
    reading = read(document(hours=hours(*values)), json_recipe(column("hours[].wind.value")))
    assert reading.series[0].values[:2].tolist() == pytest.approx([10.0, 10.0])
    assert reading.report.notes == (
        "hours[].wind.value: values in km/h and m/s stand side by side; each was converted by its own unit.",
    )


def test_a_unit_beside_the_name_and_one_for_the_series() -> None:
    items = [{"time": one["time"], "t": 50, "tUnit": "F", "wind": 36} for one in hours(0, 0)]
    data = document(hours=items, meta={"units": {"wind": "km/h"}})
    reading = read(data, json_recipe(column("hours[].t", "temperature"), column("hours[].wind")))
    assert [one.values[0] for one in reading.series] == pytest.approx([10.0, 10.0])


def test_lists_side_by_side_with_their_own_table_of_units() -> None:
    data = document(
        hourly={"time": [one["time"] for one in hours(0, 0, 0)], "wind": [36, None, 18]},
        hourly_units={"wind": "km/h"},
        daily={"wind": [1]},
        daily_units={"wind": "m/s"},
    )
    reading = read(data, json_recipe(column("hourly.wind[]"), times=("hourly.time[]",)))
    assert reading.series[0].usable().tolist() == pytest.approx([10.0, np.nan, 5.0], nan_ok=True)
    short = document(hourly={"time": [one["time"] for one in hours(0, 0)], "wind": [1, 2, 3]})
    refused(short, "has 3 values, .* has 2 times", column("hourly.wind[]", unit="m/s"), times=("hourly.time[]",))


def test_a_recipe_that_contradicts_the_file_is_refused() -> None:
    data = document(hours=hours(3, 4), units={"wind": "m/s"})
    refused(data, r"hours\[\]\.wind: the file says m/s, the recipe km/h", column("hours[].wind", unit="km/h"))
    assert read(data, json_recipe(column("hours[].wind", unit="m/s"))).series[0].values[0] == 3.0


@pytest.mark.parametrize(
    ("units", "match"),
    [
        ({}, "the file names no unit for it; state one in the recipe: m/s"),
        ({"wind": "furlong"}, "the unit 'furlong' is not known for wind"),
        ({"wind": "celsius"}, "the unit 'celsius' is not known for wind"),
    ],
)
def test_a_unit_that_is_not_there_or_not_known_is_refused(units: dict[str, str], match: str) -> None:
    refused(document(hours=hours(3, 4), units=units), match, column("hours[].wind"))


def test_two_tables_that_differ_are_refused() -> None:
    data = document(hours=hours(3, 4), a={"units": {"wind": "m/s"}}, b={"units": {"wind": "kn"}})
    refused(data, "the file names it in kn and in m/s", column("hours[].wind"))


def test_text_speeds_bring_their_unit_and_a_range_its_higher_end() -> None:
    reading = read(document(hours=hours("0 mph", "10 to 15 km/h", "20 kn")), json_recipe(column("hours[].wind")))
    assert reading.series[0].values.tolist() == pytest.approx([0.0, 15 / 3.6, 20 * 1852 / 3600])
    assert reading.report.notes[0] == "hours[].wind: 1 values were given as a range; the higher end was taken."
    refused(document(hours=hours("10 to", "1 m/s")), "'to' is not known", column("hours[].wind", unit="m/s"))
    refused(document(hours=hours("5 to 9 F", "1 F")), "is a range", column("hours[].wind", "temperature"))


@pytest.mark.parametrize("value", [True, {"value": 3}, [3], "breezy", "3,5"])
def test_what_is_no_value_is_refused_with_its_place(value: Any) -> None:
    refused(document(hours=hours(3, value)), r"hours\[1\]\.wind: ")


def test_a_time_without_zone_is_refused() -> None:
    items = [{"time": "2025-06-02T00:00:00", "wind": 3}, {"time": "2025-06-02T01:00:00", "wind": 3}]
    refused(document(hours=items), r"hours\[\]\.time, item 0: '2025-06-02T00:00:00' carries no offset")
    assert read(document(hours=items), json_recipe(zone="Europe/Berlin")).report.first == datetime(2025, 6, 1, 22, tzinfo=UTC)


def test_intervals_stand_for_each_step_inside_them() -> None:
    spans = [("2025-06-02T00:00:00+00:00/PT2H", 3), ("2025-06-02T02:00:00+00:00/PT1H", 4), ("2025-06-02T04:00:00+00:00/PT3H", 5)]
    items = [{"span": span, "wind": wind} for span, wind in spans]
    reading = read(document(hours=items), json_recipe(times=("hours[].span",), time_format="iso interval"))
    assert reading.series[0].values.tolist() == pytest.approx([3, 3, 4, np.nan, 5, 5, 5], nan_ok=True)
    assert [gap.steps for gap in reading.report.gaps] == [1]


def test_an_interval_longer_than_a_stuck_sensor_may_stand_still() -> None:
    items = [{"span": "2025-06-02T00:00:00Z/P1D", "wind": 3.1}, {"span": "2025-06-03T00:00:00Z/PT1H", "wind": 4.2}]
    reading = read(document(hours=items), json_recipe(times=("hours[].span",), time_format="iso interval"))
    assert (reading.series[0].flags == 0).all()
    sensor = read(document(hours=hours(*[3.1] * 24, 4.2, 4.23, 4.31)), json_recipe())
    assert (sensor.series[0].flags[:24] & Flag.STUCK).all()


def test_a_lone_interval_of_six_hours_gives_hours() -> None:
    items = [{"from": "2025-06-02T00:00:00Z", "to": "2025-06-02T06:00:00Z", "wind": 3}]
    reading = read(document(hours=items), json_recipe(times=("hours[].from", "hours[].to")))
    assert (reading.report.step_min, len(reading.series[0].values)) == (60, 6)
    items[0]["to"] = "2025-06-01T06:00:00Z"
    refused(document(hours=items), r"hours\[0\]\.to: the interval ends before it starts", times=("hours[].from", "hours[].to"))


def test_stamps_at_the_end_of_the_step_and_seconds_since_1970() -> None:
    items = [{"time": 1_748_822_400 + 3600 * hour, "wind": hour} for hour in range(1, 4)]
    reading = read(document(hours=items), json_recipe(time_format="unix", stamp="end", zone="UTC"))
    assert reading.report.first == datetime(2025, 6, 2, tzinfo=UTC)
    items[0]["time"] = 1.5
    refused(document(hours=items), "no whole number of seconds", time_format="unix", zone="UTC")


def test_steps_that_grow_are_flagged_and_hold_no_window() -> None:
    items = hours(*[3] * 3, key="wind") + hours(4, 5, 6, start=3, step=6)
    reading = read(document(hours=items), json_recipe())
    wind = reading.series[0]
    assert reading.report.step_min == 60
    assert (wind.flags[:3] == 0).all()
    assert (wind.flags[3:] == Flag.COARSE).all()
    assert reading.report.gaps == ()
    assert [(run.rule, run.rows) for run in reading.report.flags] == [("COARSE", 13)]
    slots = to_slots(wind, start=wind.start, slot_min=30, slots=32)
    assert np.isnan(slots.values[6:]).all()


def test_one_time_alone_tells_no_step() -> None:
    refused(document(hours=hours(3)), "One time alone tells no step")
    assert read(document(hours=hours(3)), json_recipe(step_min=60)).series[0].values.tolist() == [3.0]


def test_the_same_time_with_two_values_is_a_conflict() -> None:
    reading = read(document(hours=[*hours(3, 4, 5), *hours(9)]), json_recipe())
    assert reading.report.duplicates == 1
    assert [conflict.values for conflict in reading.report.conflicts] == [(3.0, 9.0)]


@pytest.mark.parametrize(
    ("head", "issued"),
    [
        (
            {"updateTime": "2025-06-01T22:00+01:00", "generatedAt": "2025-06-01T23:00Z"},
            datetime(2025, 6, 1, 21, tzinfo=UTC),
        ),
        ({"meta": {"updated_at": "2025-06-01T22:00:00Z"}}, datetime(2025, 6, 1, 22, tzinfo=UTC)),
        ({"updated": "2025-06-01T22:00:00Z", "updateTime": "2025-06-01T21:00:00Z"}, None),
        ({"updated": "2025-06-01T22:00:00"}, None),
        ({"generatedAt": "2025-06-01T23:00:00Z", "updated": 3}, None),
    ],
)
def test_the_issue_time_is_when_the_forecast_was_made(head: dict[str, Any], issued: datetime | None) -> None:
    assert read(document(hours=hours(3, 4), **head), json_recipe()).issued_at == issued


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b'{"hours": [{"time": "2025-', "line 1, character 21: this is no JSON"),
        (b"[" * 100_000, "nests objects more than 40 deep"),
        (b"[" * 60 + b"]" * 60, "nests objects more than 40 deep"),
        (b'{"hours": 1, "hours": 2}', "The key 'hours' stands twice"),
        (b'{"hours": []}', "the list is empty"),
        (b'{"other": {"x": 1}}', r"hours\[\]\.wind: the file has no list at hours; at its top it has other"),
        (b"\x00\x01", "NUL"),
        (b"\xff\xfe", "no JSON"),
        (b"", "no JSON"),
    ],
)
def test_broken_files_are_refused_in_one_sentence(data: bytes, match: str) -> None:
    refused(data, match)


def test_numbers_json_does_not_know_are_missing_and_absurd_ones_harmless() -> None:
    data = document(hours=hours(3, "a", "b")).replace(b'"a"', b"NaN").replace(b'"b"', b"1" * 5000)
    assert (read(data, json_recipe()).series[0].flags[1:] == Flag.MISSING).all()


def test_much_json_is_refused_before_it_is_parsed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(documents, "MAX_JSON_BYTES", 10)
    refused(document(hours=hours(3, 4)), "of JSON at most 10 are read")


@pytest.mark.parametrize("path", ["wind", "hours[].x[]", "", "hours[]..wind", "hours[].wi]nd"])
def test_paths_that_say_nothing_are_refused(path: str) -> None:
    refused(document(hours=hours(3, 4)), "path|columns|named", column(path or "[[", unit="m/s"))


leaves = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["2025-06-02T00:00:00Z", "9 mph"])
)
keys = st.sampled_from(["time", "wind", "value"])
trees = st.recursive(leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner))


@settings(max_examples=150, deadline=None, derandomize=True)
@given(items=st.lists(trees, max_size=4))
def test_any_items_are_read_or_refused_in_our_own_words(items: list[Any]) -> None:
    try:
        reading = read(document(hours=items), json_recipe())
    except ReadRefused:
        return
    assert reading.report.rows_read == len(items)
