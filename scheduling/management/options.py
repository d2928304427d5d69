"""What the commands' options have in common: a day, a base, each refused with one sentence."""

from __future__ import annotations

from argparse import ArgumentTypeError
from datetime import date

from planner.errors import PlannerError
from planner.models import Base


def local_day(text: str) -> date:
    """A day like 2026-03-02."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no day: give one like 2026-03-02.") from None


def base_named(name: str | None) -> Base:
    """The base of that name; without a name the only one there is."""
    bases = list(Base.objects.order_by("name")[:20])
    names = ", ".join(base.name for base in bases)
    if not bases:
        raise PlannerError("There is no base yet: enter one in the admin site, or run `manage.py demo`.")
    if name is None and len(bases) > 1:
        raise PlannerError(f"There are several bases ({names}): say which with --base.")
    found = bases if name is None else [base for base in bases if base.name == name]
    if not found:
        raise PlannerError(f"There is no base {name!r}; known are {names}.")
    return found[0]
