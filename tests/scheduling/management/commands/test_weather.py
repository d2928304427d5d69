"""manage.py weather on the tiny farm: import, inspect, fit."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import ErrorFit, WeatherFeed, WeatherSet
from tests import farm as rows

RECIPE = {
    "name": "test",
    "time_columns": ["time"],
    "time_format": "iso",
    "stamp": "start",
    "zone": "UTC",
    "columns": [{"column": "v", "variable": "wind", "unit": "km/h", "height_m": 10, "averaging_min": 60}],
}
FILE = "time,v\n2026-06-10T00:00,36\n2026-06-10T01:00,18\n2026-06-10T02:00,9\n"


def take_in(tmp_path: Path, *args: str, recipe: dict[str, object] | None = None, text: str = FILE) -> str:
    (tmp_path / "w.csv").write_text(text)
    (tmp_path / "r.json").write_text(json.dumps(recipe or RECIPE))
    out = StringIO()
    paths = [str(tmp_path / "w.csv"), "--recipe", str(tmp_path / "r.json")]
    call_command("weather", "import", *paths, "--site", "HILL", *args, stdout=out)
    return out.getvalue()


FORECAST = ("--kind", "forecast", "--issued", "2026-06-09T23:00Z")


def test_a_forecast_is_stored_once(farm: rows.Farm, tmp_path: Path) -> None:
    first = json.loads(take_in(tmp_path, *FORECAST, "--json"))
    assert (first["accepted"], first["created"], first["rows_read"], first["step_min"]) == (True, True, 3, 60)
    assert take_in(tmp_path, *FORECAST).startswith("Already there.")
    (row,) = WeatherSet.objects.all()
    assert row.issued_at.isoformat() == "2026-06-09T23:00:00+00:00"


def test_what_the_recipe_leaves_open_is_asked(farm: rows.Farm, tmp_path: Path) -> None:
    column = {key: value for key, value in RECIPE["columns"][0].items() if key != "height_m"}  # type: ignore[index]
    with pytest.raises(CommandError, match="At which height") as refused:
        take_in(tmp_path, *FORECAST, recipe={**RECIPE, "columns": [column]})
    assert refused.value.returncode == 3
    assert not WeatherSet.objects.exists()


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (("--kind", "forecast"), "needs its issue time"),
        (("--kind", "forecast", "--issued", "2026-06-09T23:00"), "has no offset from UTC"),
        (("--kind", "forecast", "--issued", "2026-07-01T00:00Z"), "lies after the last value"),
        (("--kind", "past-years", "--site", "NOWHERE"), "no site 'NOWHERE'; known are HILL, PLAIN"),
    ],
)
def test_bad_input_is_one_sentence(farm: rows.Farm, tmp_path: Path, args: tuple[str, ...], sentence: str) -> None:
    with pytest.raises(CommandError, match=sentence):
        take_in(tmp_path, *args)
    assert not WeatherSet.objects.exists()


def test_with_a_feed_the_next_file_needs_nothing_more(farm: rows.Farm, tmp_path: Path) -> None:
    take_in(tmp_path, *FORECAST, "--feed", "met")
    feed = WeatherFeed.objects.get(site=farm.hill, name="met")
    assert (feed.kind, feed.recipe["columns"][0]["unit"]) == ("forecast", "km/h")
    (tmp_path / "next.csv").write_text(FILE.replace("2026-06-10", "2026-06-11"))
    out = StringIO()
    args = [str(tmp_path / "next.csv"), "--site", "HILL", "--feed", "met", "--issued", "2026-06-10T23:00Z", "--json"]
    call_command("weather", "import", *args, stdout=out)
    assert json.loads(out.getvalue())["created"] is True
    assert list(WeatherSet.objects.values_list("feed", flat=True)) == [feed.pk, feed.pk]


def test_a_feed_that_is_not_there_is_named_with_those_that_are(farm: rows.Farm, tmp_path: Path) -> None:
    (tmp_path / "w.csv").write_text(FILE)
    with pytest.raises(CommandError, match="no feed 'met'; known are none yet") as refused:
        call_command("weather", "import", str(tmp_path / "w.csv"), "--site", "HILL", "--feed", "met")
    assert refused.value.returncode == 2


def test_a_partly_bad_file_changes_nothing_unless_the_good_part_is_accepted(farm: rows.Farm, tmp_path: Path) -> None:
    bad = FILE + "2026-06-10T03:00,ten\n"
    with pytest.raises(CommandError, match="accept the good rows"):
        take_in(tmp_path, *FORECAST, text=bad)
    assert not WeatherSet.objects.exists()
    with pytest.raises(CommandError, match="--rejected"):
        take_in(tmp_path, *FORECAST, "--accept-good-rows", text=bad)
    rejected = tmp_path / "rejected.csv"
    told = take_in(tmp_path, *FORECAST, "--accept-good-rows", "--rejected", str(rejected), text=bad)
    assert "1 rows did not fit" in told
    header, row = rejected.read_text().splitlines()
    assert header == "line,reason,text"
    assert row.startswith("5,")
    assert row.endswith('"2026-06-10T03:00,ten"')
    assert WeatherSet.objects.count() == 1


def test_looking_at_a_file_needs_no_site_and_saves_a_recipe(tmp_path: Path) -> None:
    (tmp_path / "w.csv").write_text(FILE)
    out = StringIO()
    with pytest.raises(SystemExit) as asked:
        call_command("weather", "inspect", str(tmp_path / "w.csv"), stdout=out)
    assert asked.value.code == 3
    assert "It must be told:" in out.getvalue()
    answers = ["--unit", "v=km/h", "--height", "v=10", "--averaging", "v=60", "--zone", "UTC", "--stamp", "start", "--json"]
    if "wind" not in out.getvalue():
        answers += ["--variable", "v=wind"]
    out = StringIO()
    call_command("weather", "inspect", str(tmp_path / "w.csv"), *answers, "--save", str(tmp_path / "r.json"), stdout=out)
    assert json.loads(out.getvalue())["accepted"] is True
    saved = json.loads((tmp_path / "r.json").read_text())
    assert (saved["zone"], saved["stamp"], saved["columns"][0]["unit"]) == ("UTC", "start", "km/h")


def test_a_fit_without_enough_forecasts_says_how_many_it_takes(farm: rows.Farm) -> None:
    with pytest.raises(CommandError, match="forecasts") as refused:
        call_command("weather", "fit", "--site", "HILL")
    assert refused.value.returncode == 2
    assert not ErrorFit.objects.exists()
