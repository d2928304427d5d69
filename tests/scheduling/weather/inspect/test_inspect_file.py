"""What a look at a file tells, and what it asks: nothing about unit, height or zone is guessed."""

from __future__ import annotations

import gzip
import io
import zipfile
from pathlib import Path
from typing import Any

import pytest

from scheduling.weather.inspect import Answers, inspect_file
from tests.shared import SHARED, shared_path

KEYS = {
    "accepted", "reason", "variables", "zone", "stamp", "rows_read", "rows_skipped", "first", "last", "step_min", "gaps",
    "duplicates", "flags", "ask",
}  # fmt: skip
FILES = sorted(str(path.relative_to(SHARED)) for path in (SHARED / "data").glob("*/*") if path.is_file())
HOURLY = "time,ws\n" + "".join(f"2026-06-{1 + n // 24:02}T{n % 24:02}:00,{5 + n % 3}\n" for n in range(72))


def looked(text: str | bytes, name: str = "wind.csv", **answers: Any) -> dict[str, Any]:
    data = text.encode() if isinstance(text, str) else text
    return inspect_file(data, name, Answers(**answers)).to_json()


def fields(found: dict[str, Any]) -> list[str]:
    return [one["field"] for one in found["ask"]]


@pytest.mark.parametrize("relative", FILES)
def test_every_open_file_is_read_asked_about_or_refused_in_a_sentence(relative: str) -> None:
    path = shared_path(relative)
    found = inspect_file(path, path.name)
    told = found.to_json()
    assert set(told) == KEYS
    assert found.exit_code == (0 if told["accepted"] else 3 if told["ask"] else 2)
    if not told["accepted"]:
        assert len(told["reason"]) > 20, "a sentence that says what to do"
        assert "Traceback" not in told["reason"]
    for one in told["ask"]:
        assert one["text"].rstrip().endswith(("?", ".", ")")), one


def test_a_bare_file_is_asked_for_everything_it_does_not_say() -> None:
    found = looked(HOURLY)
    assert not found["accepted"]
    assert {"stamp", "zone"} <= set(fields(found))
    assert any(one.endswith("unit") for one in fields(found))
    assert any(one.endswith("height_m") for one in fields(found))
    assert (found["rows_read"], found["step_min"]) == (72, 60)
    assert found["first"] == "2026-06-01T00:00:00", "no offset while the zone is not known"


def test_with_its_answers_it_is_accepted_and_its_recipe_reads_it_again() -> None:
    answers = {"units": {"ws": "km/h"}, "heights": {"ws": 10.0}, "averagings": {"ws": 10.0}, "zone": "UTC", "stamp": "end"}
    found = inspect_file(HOURLY.encode(), "wind.csv", Answers(**answers))
    told = found.to_json()
    assert told["accepted"], told
    assert told["variables"] == [{"name": "ws", "unit": "km/h", "height_m": 10.0, "averaging_min": 10.0}]
    assert told["first"] == "2026-05-31T23:00:00+00:00", "a stamp at the end names the step before it"
    assert found.recipe is not None
    again = looked(HOURLY, recipe=found.recipe.to_json())
    assert again == told


def test_answers_may_name_the_variable_instead_of_the_column() -> None:
    named = looked(HOURLY, units={"wind": "m/s"}, heights={"wind": 80.0}, averagings={"wind": 10.0}, zone="UTC", stamp="start")
    assert named["accepted"], named


def test_an_unknown_unit_is_refused_with_the_choices() -> None:
    found = looked(HOURLY, units={"ws": "furlong"}, heights={"ws": 80.0}, zone="UTC", stamp="start")
    assert not found["accepted"]
    assert "km/h" in found["reason"] or any("km/h" in one["choices"] for one in found["ask"])


def test_day_and_month_are_told_apart_by_all_rows_or_asked() -> None:
    def rows(*days: str) -> str:
        return "time,ws\n" + "".join(f"{day} {hour:02}:00,5\n" for day in days for hour in range(24))

    open_ = looked(rows("01/02/2026", "02/02/2026"))
    assert "time_format" in fields(open_)
    told = looked(rows("12/02/2026", "13/02/2026", "14/02/2026"))
    assert "time_format" not in fields(told)
    assert told["first"].startswith("2026-02-12")


def test_units_and_zone_in_the_file_are_taken_from_there() -> None:
    path = shared_path("data/dwd_obs/current_obs_decimal_comma_kmh.csv")
    found = inspect_file(path, path.name).to_json()
    wind = next(one for one in found["variables"] if one["name"].startswith("mean_wind_speed"))
    assert (wind["unit"], wind["height_m"]) == ("km/h", 10.0)
    assert found["zone"] == "UTC"
    assert fields(found) == ["stamp"]


def test_a_doubled_hour_a_missing_hour_and_empty_rows_are_told() -> None:
    """La Haute Borne: 6 stamps of the spring hour twice, one hour missing in autumn, 147 rows that hold only their key."""
    path = shared_path("data/la_haute_borne/R80711_2014_10min.csv")
    found = inspect_file(path, path.name).to_json()
    assert (found["rows_read"], found["rows_skipped"], found["duplicates"], found["gaps"]) == (52_560, 147, 6, 1)
    runs = {one["rule"]: one["rows"] for one in found["flags"]}
    assert (runs["DOUBLED"], runs["GAP"]) == (6, 6)


@pytest.mark.parametrize(
    ("data", "name", "sentence"),
    [
        (b"time,ws\n2026-06-01T00:00,5\0\n", "wind.csv", "NUL"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8, "wind.png", ""),
        (b"", "empty.csv", ""),
        (b"time,ws\n", "head.csv", ""),
    ],
)
def test_what_is_no_text_is_refused_early(data: bytes, name: str, sentence: str) -> None:
    found = looked(data, name)
    assert not found["accepted"]
    assert found["ask"] == []
    assert sentence in found["reason"]


def test_a_packed_file_is_unpacked_and_a_bomb_is_not() -> None:
    assert looked(gzip.compress(HOURLY.encode()), "wind.csv.gz")["rows_read"] == 72
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("wind.csv", b"0" * 250_000_000)
    found = looked(bomb.getvalue(), "wind.zip")
    assert not found["accepted"]
    assert "200" in found["reason"]


def test_rows_that_do_not_fit_are_named_and_left_out_only_when_asked() -> None:
    answers = Answers(units={"ws": "m/s"}, heights={"ws": 80.0}, averagings={"ws": 10.0}, zone="UTC", stamp="start")
    bad = HOURLY.replace("2026-06-02T03:00,5\n", "2026-06-02T03:00,five\n").replace("2026-06-02T03:00,8\n", "")
    assert bad != HOURLY
    refused = inspect_file(bad.encode(), "wind.csv", answers)
    assert refused.exit_code != 0
    assert "five" in refused.reason
    taken = inspect_file(bad.encode(), "wind.csv", answers, good_rows_only=True)
    assert taken.reading is not None
    assert [(row.line, "five" in row.text) for row in taken.reading.rejected] == [(29, True)]


def test_the_path_and_its_bytes_tell_the_same(tmp_path: Path) -> None:
    path = tmp_path / "wind.csv"
    path.write_text(HOURLY)
    assert inspect_file(path, path.name).to_json() == looked(HOURLY)
