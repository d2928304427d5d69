from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from scheduling.weather.readers.numbers import parse_numbers
from scheduling.weather.readers.report import ReadRefused
from tests.scheduling.weather.readers.recipes import recipe


def parse(*texts: str, **changes: Any) -> list[float]:
    return parse_numbers(texts, "ws", range(2, 2 + len(texts)), recipe(**changes)).tolist()


def test_plain_numbers_and_padding() -> None:
    assert parse("5", " 6.5", "-1e1") == [5.0, 6.5, -10.0]


def test_missing_texts_and_numbers() -> None:
    values = parse("5", "", "NaN", "---", "-999", "-999.0", " ", missing=["NaN", "---", "-999"])
    assert values[0] == 5.0
    assert np.isnan(values[1:]).all()


def test_the_decimal_comma_is_read_when_stated() -> None:
    assert parse("12,5", "-10,2", "7", decimal=",", delimiter=";") == [12.5, -10.2, 7.0]


def test_missing_texts_with_a_point_survive_the_decimal_comma() -> None:
    assert np.isnan(parse("n.a.", decimal=",", delimiter=";", missing=["n.a."])).all()


@pytest.mark.parametrize("bad", ["12,5", "1,234.5", "abc", "1_000", "inf", "5 m/s", "0x10", "nan"])
def test_what_is_no_number_is_refused_with_line_column_and_value(bad: str) -> None:
    with pytest.raises(ReadRefused, match=r"line 3, column ws: '.*' is no number") as caught:
        parse("5", bad, missing=["NA"])
    assert repr(bad) in str(caught.value)


@pytest.mark.parametrize("bad", ["12.5", "1.234,5"])
def test_a_point_beside_decimal_commas_is_refused_as_written(bad: str) -> None:
    with pytest.raises(ReadRefused, match=f"line 2, column ws: '{bad}' is no number with decimal ','"):
        parse(bad, decimal=",", delimiter=";")
