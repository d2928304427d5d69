"""What a reader of one kind of file offers: to read it, and to say what the file says about itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from scheduling.weather.readers.report import Reading, ReadRefused
from scheduling.weather.recipe import Question, Recipe


@dataclass(frozen=True)
class Proposal:
    """What a file says about itself; nothing in it is guessed.

    recipe   values for `recipe_from_json`, with `reader`; each of `columns` names at least `column` and
             `variable`. What the file does not say is left out: the inspection asks for it
    sources  field of the recipe ("zone", "columns.NAME.unit", ...) -> where the file says so, in a few words
    ask      questions that no open field of the recipe raises by itself (which turbine of several)
    notes    sentences on what was seen and left alone
    """

    recipe: Mapping[str, Any]
    sources: Mapping[str, str] = field(default_factory=dict)
    ask: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()


#: (content, file name) -> the proposal; None when the content is no file of this kind.
#: Raises ReadRefused with one sentence when it is one, but cannot be read.
Propose = Callable[[bytes, str], Proposal | None]


@dataclass(frozen=True)
class Reader:
    """One kind of file.

    read             takes a complete recipe and refuses a file of which any part does not fit
    propose          looks at content alone and must be quick to say None
    read_good_rows   takes what fits and hands the rest back in `Reading.rejected`; None: all or nothing
    """

    read: Callable[[bytes, Recipe], Reading]
    propose: Propose | None = None
    read_good_rows: Callable[[bytes, Recipe], Reading] | None = None


class AnswerNeeded(ReadRefused):
    """The file can be read as soon as one question is answered."""

    def __init__(self, question: Question) -> None:
        choices = f": {', '.join(question.choices)}" if question.choices else ""
        super().__init__(f"{question.text} ({question.field}{choices})")
        self.ask = (question,)
