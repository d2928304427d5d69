"""manage.py weather import on the tiny farm."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import WeatherSet
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
