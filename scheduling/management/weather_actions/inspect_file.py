"""weather inspect FILE: say what a file holds, propose how to read it, ask for what it does not say. No database is needed."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import OutputWrapper

from scheduling.management.weather_actions.options import number_pair, pair, recipe_of, written
from scheduling.weather.inspect import Answers, inspect_file
from scheduling.weather.inspect.telling import told
from scheduling.weather.readers.rejected import rejected_csv
from scheduling.weather.recipe import STAMPS

HELP = "Look at a file. Exit code 0: it can be read as understood; 3: something must be told; 2: refused."


def add_arguments(parser: ArgumentParser) -> None:
    """The file, the answers so far, and where the recipe goes."""
    parser.add_argument("file", type=Path)
    parser.add_argument("--recipe", type=Path, help="answers as a recipe, complete or in part (JSON)")
    for name, kind, example in (
        ("unit", pair, "wind=km/h"),
        ("height", number_pair, "wind=10"),
        ("averaging", number_pair, "gust=0.05"),
        ("variable", pair, "F=wind"),
        ("only", pair, "turbine=T1"),
    ):
        parser.add_argument(f"--{name}", type=kind, action="append", default=[], metavar=example)
    parser.add_argument("--zone", default="", help="of the stamps: UTC, UTC+01:00, Europe/Berlin")
    parser.add_argument(
        "--stamp", default="", choices=["", *STAMPS], help="whether a stamp names the start or the end of its step"
    )
    parser.add_argument("--time-format", default="", help="day-first, month-first, or a pattern such as %%d.%%m.%%Y %%H:%%M")
    parser.add_argument("--step", type=int, help="minutes from one value to the next")
    parser.add_argument("--member", default="", help="which file of a zip")
    parser.add_argument("--accept-good-rows", action="store_true", help="leave rows out that do not fit")
    parser.add_argument("--rejected", type=Path, help="where the rows that do not fit are written (CSV)")
    parser.add_argument("--save", type=Path, help="where the recipe is written once nothing is open (JSON)")
    parser.add_argument("--json", action="store_true")


def handle(out: OutputWrapper, options: dict[str, Any]) -> int:
    """Look, tell, and write what was asked for."""
    path = options["file"]
    found = inspect_file(path, path.name, answers_of(options), good_rows_only=options["accept_good_rows"])
    if found.recipe is not None and options["save"]:
        written(options["save"], json.dumps(found.recipe.to_json(), indent=1, ensure_ascii=False) + "\n")
    if found.reading is not None and options["rejected"]:
        written(options["rejected"], rejected_csv(found.reading.rejected))
    out.write(json.dumps(found.to_json(), ensure_ascii=False) + "\n" if options["json"] else told(found))
    return found.exit_code


def answers_of(options: dict[str, Any]) -> Answers:
    """The options as answers."""
    return Answers(
        units=dict(options["unit"]),
        heights=dict(options["height"]),
        averagings=dict(options["averaging"]),
        variables=dict(options["variable"]),
        only=dict(options["only"]),
        zone=options["zone"],
        stamp=options["stamp"],
        time_format=options["time_format"],
        member=options["member"],
        step_min=options["step"],
        recipe=recipe_of(options["recipe"]) if options["recipe"] else {},
    )
