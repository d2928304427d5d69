from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.weather import readers
from tests.scheduling.weather.readers.recipes import recipe, text

DATA = text("2025-06-02 00:00,5", "2025-06-02 00:10,6")


def test_a_path_and_its_bytes_read_alike(tmp_path: Path) -> None:
    path = tmp_path / "wind.csv"
    path.write_bytes(DATA)
    assert readers.read(path, recipe()).report == readers.read(DATA, recipe()).report


@settings(max_examples=200, deadline=None, derandomize=True)
@given(rows=st.text(alphabet='0123456789,.;-: \n\r"TZ+n', max_size=120))
def test_any_text_is_read_or_refused_in_our_own_words(rows: str) -> None:
    try:
        reading = readers.read(f"time,ws\n2025-06-02 00:00,5\n2025-06-02 00:10,6\n{rows}".encode(), recipe())
    except readers.ReadRefused:
        return
    assert reading.report.rows_read >= 2


@settings(max_examples=100, deadline=None, derandomize=True)
@given(data=st.binary(max_size=200))
def test_any_bytes_without_our_header_are_refused_in_our_own_words(data: bytes) -> None:
    with pytest.raises(readers.ReadRefused):
        readers.read(data, recipe())


def test_unknown_readers_and_paths_are_refused(tmp_path: Path) -> None:
    with pytest.raises(readers.ReadRefused, match=r"choose one of .*delimited"):
        readers.read(DATA, replace(recipe(), reader="punched cards"))
    with pytest.raises(readers.ReadRefused, match="there is no such file"):
        readers.read(tmp_path / "none.csv", recipe())


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        os.truncate(file.fileno(), readers.MAX_BYTES + 1)  # sparse: takes no room
    with pytest.raises(readers.ReadRefused, match="Split it by year"):
        readers.read(path, recipe())
