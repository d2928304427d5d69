"""What is still open after the answers: asked where the plan hangs on it, left out or stated as assumed where not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.recipe import Question, RecipeIncomplete, recipe_from_json
from scheduling.weather.units import VARIABLES

#: What must be said of a column; how long it averages may be taken from the step of the file, and is told then.
NEEDED = ("unit", "height_m")
#: A gust without its own averaging is the usual 3 s gust (WMO-No. 8, chapter on surface wind), and told as such.
GUST_MIN = 0.05
#: Variables that are of the sea surface or of the whole air above; a height says nothing about them.
_HEIGHTLESS = {"wave_height", "wave_period", "rain", "visibility", "lightning_distance", "lightning_probability"}


@dataclass(frozen=True)
class Settled:
    """A draft recipe, its open questions, and the columns left out with what they would need.

    assumed   columns whose averaging nothing and nobody states
    """

    draft: dict[str, Any]
    ask: tuple[Question, ...]
    left_out: dict[str, str]
    assumed: tuple[str, ...]


def settle(proposal: Proposal) -> Settled:
    """Weigh what is open. Wind is needed where there is one; another column with something open is left out until told."""
    columns = [_placed(column) for column in proposal.recipe.get("columns", [])]
    complete = [column for column in columns if not _open(column)]
    needed = [column for column in columns if column["variable"] == "wind"] or columns
    if any(column in complete for column in needed):
        kept, wanted = complete, complete
    else:
        kept, wanted = columns, needed
    left_out = {column["column"]: _needs(column) for column in columns if column not in wanted}
    assumed = tuple(column["column"] for column in kept if column.get("averaging_min") is None)
    draft = {**proposal.recipe, "columns": kept}
    return Settled(draft, _questions(draft, wanted, proposal.ask), left_out, assumed)


def with_averaging(draft: Mapping[str, Any], assumed: Sequence[str], step_min: float) -> dict[str, Any]:
    """The draft with the averaging of the assumed columns: the step, or 3 s for gusts."""
    columns = [
        {**column, "averaging_min": GUST_MIN if column["variable"] == "gust" else step_min}
        if column["column"] in assumed
        else column
        for column in draft["columns"]
    ]
    return {**draft, "columns": columns}


def trial(draft: Mapping[str, Any]) -> dict[str, Any]:
    """The draft with stand-ins for all that is open: good for counting rows and steps, and for nothing else."""
    stand_in = {"stamp": "start", "zone": "UTC"}
    columns = [
        {"unit": VARIABLES[column["variable"]], "height_m": 10.0, "averaging_min": 1.0, **column} for column in draft["columns"]
    ]
    return {**stand_in, **draft, "columns": columns}


def _placed(column: Mapping[str, Any]) -> dict[str, Any]:
    return {**column, "height_m": 0.0} if column["variable"] in _HEIGHTLESS and "height_m" not in column else dict(column)


def _open(column: Mapping[str, Any]) -> list[str]:
    return [name for name in NEEDED if column.get(name) is None]


def _needs(column: Mapping[str, Any]) -> str:
    words = {"unit": "its unit", "height_m": "its height"}
    return f"{column['variable']}; say {' and '.join(words[name] for name in _open(column))}"


def _questions(draft: Mapping[str, Any], wanted: Sequence[Mapping[str, Any]], ask: tuple[Question, ...]) -> tuple[Question, ...]:
    """What the recipe leaves open in the columns that are wanted, and what was asked besides."""
    known = {question.field for question in ask}
    columns = [{"averaging_min": 1.0, **column} for column in wanted]
    try:
        recipe_from_json({**draft, "columns": columns or [_ANY]})
        more: tuple[Question, ...] = ()
    except RecipeIncomplete as error:
        more = error.ask
    if not columns and "columns" not in known:
        more = (*more, Question("columns", "No column is known to hold weather. Which one holds the wind?"))
    return (*ask, *(question for question in more if question.field not in known))


_ANY = {"column": "any", "variable": "wind", "unit": "m/s", "height_m": 10.0, "averaging_min": 1.0}
