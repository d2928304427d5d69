"""One way for services to check a row before it is written."""

from __future__ import annotations

from collections.abc import Container
from typing import TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model

from planner.errors import PlannerError

Row = TypeVar("Row", bound=Model)


def checked(row: Row, *, alone: bool = True) -> Row:
    """The row itself, if it keeps every rule that forms check too (fields, clean(), constraints).

    Raises PlannerError with the first broken rule: its field (empty for a rule over several) and its sentence, and in
    extra["fields"] all of them, field -> sentences. alone=False leaves constraints to the database, for a caller to whom a
    twin written meanwhile is no mistake.
    """
    try:
        row.full_clean(validate_unique=alone, validate_constraints=alone)
    except ValidationError as error:
        raise refused(error) from error
    return row


def refused(error: ValidationError) -> PlannerError:
    """A form's error in the shape of services."""
    fields = {"" if name == NON_FIELD_ERRORS else name: texts for name, texts in error.message_dict.items()}
    field, texts = next(iter(fields.items()))
    return PlannerError(f"{field}: {texts[0]}" if field else texts[0], field=field, extra={"fields": fields})


def field_named(sentence: str, known: Container[str]) -> str:
    """The field a sentence over several fields begins with, where it is one of `known`; "" otherwise."""
    first = sentence.split(" ", 1)[0]
    return first if first in known else ""
