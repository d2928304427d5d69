from __future__ import annotations

import pytest

from scheduling.weather.readers.delimited import read_delimited
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.table import decode, read_table
from tests.scheduling.weather.readers.recipes import recipe, text


def test_byte_order_marks_and_line_ends() -> None:
    for encoding in ("utf-8-sig", "utf-16"):
        table = read_table("time,ws\r\n2025-06-02,5\r\n".encode(encoding), recipe())
        assert list(table.columns) == ["time", "ws"]
        assert table.column("ws") == ("5",)


def test_a_code_page_is_stated_not_guessed() -> None:
    data = "time,Föhr\n2025-06-02,5\n".encode("cp1252")
    with pytest.raises(ReadRefused, match="not utf-8 text"):
        read_table(data, recipe())
    assert "Föhr" in read_table(data, recipe(encoding="cp1252")).columns


def test_binary_is_refused() -> None:
    with pytest.raises(ReadRefused, match="Byte 2 is NUL"):
        decode(b"PK\0\3", "utf-8")
    with pytest.raises(ReadRefused, match="state its encoding"):
        decode(b"abc", "no-such-encoding")


def test_lines_before_the_header_and_units_below_it() -> None:
    data = b"logger 7\n\ntime;ws\nTS;m/s\n2025-06-02;5\n\n2025-06-03;6\n"
    table = read_table(data, recipe(delimiter=";", skip_rows=2, skip_after=1))
    assert table.column("ws") == ("5", "6")
    assert list(table.lines) == [5, 7]


def test_a_ragged_line_is_refused_with_its_number() -> None:
    table = read_table(text("2025-06-02,5", "2025-06-02,5,5", "2025-06-03,6,,"), recipe())
    assert [str(fault)[:46] for fault in table.ragged] == ["line 3: 3 cells where the header has 2; check "]
    assert list(table.lines) == [2, 4]  # empty cells at the end of a line are no fault
    with pytest.raises(ReadRefused, match="line 3: 3 cells where the header has 2"):
        read_delimited(text("2025-06-02 00:00,5", "2025-06-02 00:10,5,5"), recipe())


def test_the_wrong_delimiter_is_told_by_the_header() -> None:
    with pytest.raises(ReadRefused, match="column 'ws' is not in the header; it has time;ws"):
        read_table(text("2025-06-02;5", head="time;ws"), recipe()).column("ws")


def test_two_equal_headers_must_be_told_apart() -> None:
    table = read_table(text("2025-06-02,5,7", head="time,ws,ws"), recipe())
    with pytest.raises(ReadRefused, match="say which: ws#1, ws#2"):
        table.column("ws")
    assert table.column("ws#2") == ("7",)


def test_rows_of_another_mast_are_left_alone() -> None:
    data = text("2025-06-02,5,A", "2025-06-02,6,B", "2025-06-03,7,A", head="time,ws,mast")
    table = read_table(data, recipe(only={"mast": "A"}))
    assert list(table.column("ws")) == ["5", "7"]
    assert list(table.lines) == [2, 4]
    with pytest.raises(ReadRefused, match="no row has mast = C"):
        read_table(data, recipe(only={"mast": "C"}))


@pytest.mark.parametrize(("data", "message"), [(b"", "has 0 lines"), (b"time,ws\n", "no row of data")])
def test_empty_files_are_refused(data: bytes, message: str) -> None:
    with pytest.raises(ReadRefused, match=message):
        read_table(data, recipe())


def test_an_endless_cell_is_refused() -> None:
    with pytest.raises(ReadRefused, match="check the delimiter"):
        read_table(text('2025-06-02,"' + "5" * 200_000), recipe())
