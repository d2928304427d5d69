from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.weather.readers.json_series.paths import dig, list_at, parse_path, write_path
from scheduling.weather.readers.report import ReadRefused

steps = st.lists(st.text(min_size=1, max_size=4, alphabet="ab.[]\\( 0") | st.integers(0, 9), max_size=3)


@given(before=steps, after=steps)
def test_a_path_written_is_read_back(before: list[str | int], after: list[str | int]) -> None:
    path = parse_path(write_path(before, after))
    assert (path.before, path.after) == (tuple(before), tuple(after))


def test_digging_goes_by_key_and_number_and_ends_in_none() -> None:
    node = {"a": [{"b": 1}, {"b.c": 2}]}
    assert dig(node, ("a", 0, "b")) == 1
    assert dig(node, ("a", 1, "b.c")) == 2
    assert dig(node, ("a", 5, "b")) is None
    assert dig(node, ("x",)) is None


def test_the_name_passes_over_value_and_values() -> None:
    assert parse_path("properties.windSpeed.values[].value").name == "windSpeed"
    assert parse_path("features[].properties.windSpeed.value").name == "windSpeed"
    assert parse_path("hourly.wind_speed_10m[]").name == "wind_speed_10m"
    assert parse_path("[]").name == ""


def test_a_way_that_ends_early_is_told_where() -> None:
    with pytest.raises(ReadRefused, match=r"no list at data\.rows; at data it has lines, units"):
        list_at({"data": {"lines": [], "units": 1}}, parse_path("data.rows[].wind"))
    assert parse_path("rows[].wind").at(7) == "rows[7].wind"
