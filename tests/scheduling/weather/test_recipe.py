from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from scheduling.weather.recipe import Recipe, RecipeIncomplete, recipe_from_json

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures" / "recipes"


def full(**changes: Any) -> dict[str, Any]:
    column = {"column": "ws", "variable": "wind", "unit": "m/s", "height_m": 80, "averaging_min": 10}
    return {
        "name": "mast",
        "columns": [column],
        "time_columns": ["time"],
        "time_format": "iso",
        "stamp": "start",
        "zone": "UTC",
    } | changes


def with_column(**changes: Any) -> dict[str, Any]:
    column = full()["columns"][0] | changes
    return full(columns=[{key: value for key, value in column.items() if value is not None}])


@pytest.mark.parametrize("path", sorted(FIXTURES.glob("*.json")), ids=lambda path: path.stem)
def test_every_recipe_that_comes_with_us_is_complete_and_round_trips(path: Path) -> None:
    recipe = recipe_from_json(path.read_text(encoding="utf-8"))
    assert recipe.name == path.stem
    assert "assumed" in recipe.note.lower()
    assert recipe_from_json(json.dumps(recipe.to_json())) == recipe


@pytest.mark.parametrize("field", ["stamp", "zone", "time_format", "time_columns", "columns"])
def test_an_open_field_is_asked_for(field: str) -> None:
    data = full()
    del data[field]
    with pytest.raises(RecipeIncomplete) as caught:
        recipe_from_json(data)
    assert [question.field for question in caught.value.ask] == [field]


@pytest.mark.parametrize("field", ["unit", "height_m", "averaging_min", "variable"])
def test_an_open_field_of_a_column_is_asked_for(field: str) -> None:
    with pytest.raises(RecipeIncomplete) as caught:
        recipe_from_json(with_column(**{field: None}))
    assert [question.field for question in caught.value.ask] == [f"columns.ws.{field}"]


def test_all_that_is_open_is_asked_at_once_with_choices() -> None:
    with pytest.raises(RecipeIncomplete) as caught:
        recipe_from_json({"columns": [{"column": "ws", "variable": "wind"}], "time_columns": ["time"]})
    asked = {question.field: question.choices for question in caught.value.ask}
    assert set(asked) == {
        "time_format",
        "stamp",
        "zone",
        "columns.ws.unit",
        "columns.ws.height_m",
        "columns.ws.averaging_min",
    }
    assert asked["stamp"] == ("start", "end")
    assert "km/h" in asked["columns.ws.unit"]
    assert "start or the end" in str(caught.value)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (with_column(unit="knots"), r"columns\.ws\.unit: 'knots' is not known; choose one of m/s, km/h, kn, mph"),
        (with_column(unit="degC"), r"columns\.ws\.unit"),
        (with_column(height_m=0), "wind at 0 m says nothing"),
        (with_column(height_m=-10), "height_m: -10 is not a number between"),
        (with_column(height_m="80"), "height_m: '80' is not a number"),
        (with_column(averaging_min=float("nan")), "averaging_min"),
        (with_column(averaging_min=True), "averaging_min"),
        (with_column(variable="breeze"), "variable 'breeze' is not known"),
        (with_column(colour="red"), "field 'colour' is not known"),
        (full(stamp="middle"), "stamp: 'middle' is not known; choose one of 'start', 'end'"),
        (full(zone="Mars/Olympus"), "zone: 'Mars/Olympus' is no time zone"),
        (full(zone="../etc"), "is no time zone"),
        (full(decimal=","), "decimal sign and the delimiter"),
        (full(delimiter="x"), "delimiter"),
        (full(colour="red"), "field 'colour' is not known"),
        (full(skip_rows=-1), "skip_rows"),
        (full(step_min=0), "step_min"),
        (full(step_min="10"), "step_min"),
        (full(time_format=7), "time_format: 7 is no text"),
        (full(only=["A"]), "only: give an object"),
        (full(zone=1), "zone: 1 is no text"),
        (with_column(column=3), "column: 3 is no text"),
        (full(missing="NA"), "missing: give a list of texts"),
        (full(columns=full()["columns"] * 2), "named twice"),
        (full(columns=["ws"]), "columns: give a list of objects"),
        ("{", "line 1 is no JSON"),
        ("[]", "expected one JSON object"),
    ],
)
def test_what_is_wrong_is_refused_with_field_and_cure(data: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        recipe_from_json(data)


def test_a_recipe_can_be_built_in_code() -> None:
    built = recipe_from_json(full(only={"mast": "A"}, missing=["-999"], step_min=10))
    assert isinstance(built, Recipe)
    assert built.only == {"mast": "A"}
    assert built.missing == ("-999",)


def test_a_unit_beside_the_values_needs_a_reader_that_finds_it() -> None:
    assert recipe_from_json(with_column(unit="in text") | {"reader": "json"}).columns[0].unit == "in text"
    with pytest.raises(ValueError, match=r"columns\.ws\.unit: this kind of file names no unit .* choose one of m/s"):
        recipe_from_json(with_column(unit="in text"))


def test_the_roles_of_an_ensemble_are_known_ones() -> None:
    assert recipe_from_json(full(roles={"member": "ens"})).roles == {"member": "ens"}
    with pytest.raises(ValueError, match="roles: 'model' is not known; choose one of 'issue', 'member', 'quantile'"):
        recipe_from_json(full(roles={"model": "ens"}))
    with pytest.raises(ValueError, match="roles: give an object"):
        recipe_from_json(full(roles={"member": 3}))
