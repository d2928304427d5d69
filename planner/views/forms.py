"""Reading what a form sent; a bad value is one sentence that names the field and says what to give."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import isfinite

from planner.due import FIRST_YEAR, LAST_YEAR
from planner.errors import PlannerError


def text_in(form: Mapping[str, str], name: str, label: str, most: int = 2000) -> str:
    """A text that must be there."""
    value = form.get(name, "").strip()
    if not value:
        raise PlannerError(f"{label} is empty: fill it in.", field=name)
    if len(value) > most:
        raise PlannerError(f"{label} has {len(value)} characters: use at most {most}.", field=name)
    if "\x00" in value:
        raise PlannerError(f"{label} holds a character that is no text: write it again.", field=name)
    return value


def words_in(form: Mapping[str, str], name: str, label: str, most: int = 2000) -> str:
    """A text that may be empty."""
    return text_in(form, name, label, most) if form.get(name, "").strip() else ""


def day_in(form: Mapping[str, str], name: str, label: str) -> date:
    """A day that must be there."""
    day = day_or_none(form, name, label)
    if day is None:
        raise PlannerError(f"{label} is empty: give a day such as 2026-06-10.", field=name)
    return day


def day_or_none(form: Mapping[str, str], name: str, label: str) -> date | None:
    """A day, or None where nothing was given."""
    value = form.get(name, "").strip()
    if not value:
        return None
    try:
        day = date.fromisoformat(value)
    except ValueError:
        raise PlannerError(f"{label} {value!r} is no day: give one such as 2026-06-10.", field=name) from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise PlannerError(f"{label} {value!r}: give a day between {FIRST_YEAR} and {LAST_YEAR}, such as 2026-06-10.", field=name)
    return day


def number_in(form: Mapping[str, str], name: str, label: str) -> float:
    """A number with a decimal point; a comma is refused, because 12,5 and 12,500 cannot be told apart."""
    value = form.get(name, "").strip()
    if "," in value:
        raise PlannerError(f"{label} {value!r} has a comma: write it with a point, such as 12.5.", field=name)
    try:
        number = float(value)
    except ValueError:
        raise PlannerError(f"{label} {value!r} is no number: give one such as 12.5.", field=name) from None
    if not isfinite(number):
        raise PlannerError(f"{label} {value!r} is no number: give one such as 12.5.", field=name)
    return number


def whole_or_none(form: Mapping[str, str], name: str, label: str) -> int | None:
    """A whole number of 0 or more, or None where nothing was given."""
    value = form.get(name, "").strip()
    if not value:
        return None
    if not (value.isascii() and value.isdigit() and len(value) <= 9):
        raise PlannerError(f"{label} {value!r} is no whole number: give one such as 14.", field=name)
    return int(value)


def choice_in(form: Mapping[str, str], name: str, label: str, values: list[str]) -> str:
    """One of `values`."""
    value = form.get(name, "")
    if value not in values:
        raise PlannerError(f"{label} {value!r} is not known: choose one of {', '.join(values)}.", field=name)
    return value
