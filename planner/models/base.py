"""What every register row shares."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords


class Record(models.Model):
    """A row with history: who changed what, when."""

    history: Any = HistoricalRecords(inherit=True)

    class Meta:
        abstract = True


def at_least(field: str, least: float, name: str) -> models.CheckConstraint:
    """field >= least, as a database constraint with a sentence."""
    return models.CheckConstraint(
        condition=Q(**{f"{field}__gte": least}),
        name=name,
        violation_error_message=f"{field} must be {least:g} or more.",
    )


def above(field: str, limit: float, name: str) -> models.CheckConstraint:
    """field > limit, as a database constraint with a sentence."""
    return models.CheckConstraint(
        condition=Q(**{f"{field}__gt": limit}),
        name=name,
        violation_error_message=f"{field} must be above {limit:g}.",
    )


def in_order(first: str, last: str, name: str) -> models.CheckConstraint:
    """first <= last (or last empty), as a database constraint with a sentence."""
    return models.CheckConstraint(
        condition=Q(**{f"{last}__isnull": True}) | Q(**{f"{last}__gte": models.F(first)}),
        name=name,
        violation_error_message=f"{last} lies before {first}: give an end on or after the start.",
    )


def once(fields: list[str], optional: str, name: str, *, condition: Q | None = None) -> list[models.BaseConstraint]:
    """Unique over `fields` and `optional`, an empty `optional` counting as a value.

    Two partial constraints instead of nulls_distinct, which SQLite does not enforce.
    """
    both = condition or Q()
    return [
        models.UniqueConstraint(fields=[*fields, optional], condition=both & Q(**{f"{optional}__isnull": False}), name=name),
        models.UniqueConstraint(fields=fields, condition=both & Q(**{f"{optional}__isnull": True}), name=f"{name}_bare"),
    ]
