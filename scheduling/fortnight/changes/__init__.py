"""Changes to a fortnight's problem, for asking "what if": plain records that turn one frozen problem into another.

A change names rows by the ids of the problem and days by their local dates, money in the currency. `apply` gives a new valid
problem, or raises ValueError with the path, what is wrong and the cure. In which order changes are listed never matters: two that
decide the same thing are refused. Rules of law and life are no changes: see things.LAW_AND_LIFE.

A new change: its record with its methods in the file of its kind, one line in KINDS.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.fortnight.changes import numbers, orders, people, things
from scheduling.fortnight.changes.base import Change, Draft, Refused, Register
from scheduling.fortnight.changes.reading import (
    KINDS,
    change_from_json,
    change_to_json,
    changes_from_json,
    changes_to_json,
    kinds_said,
)
from scheduling.fortnight.problem import Problem

__all__ = [
    "KINDS",
    "Change",
    "Refused",
    "Register",
    "already_so",
    "apply",
    "change_from_json",
    "change_to_json",
    "changes_from_json",
    "changes_to_json",
    "kinds_said",
    "limits_asked",
    "numbers",
    "orders",
    "people",
    "things",
]
NO_REGISTER = Register()


def apply(problem: Problem, changes: Sequence[Change], register: Register = NO_REGISTER) -> Problem:
    """The problem with these changes. Raises ValueError: path ("changes[2].person"), what is wrong, the cure."""
    if not changes:
        return problem
    _refuse_twice(problem, changes)
    draft = Draft(problem, register)
    rank = list(KINDS)
    for number, change in sorted(enumerate(changes), key=lambda one: (rank.index(one[1].kind), str(one[1]))):
        try:
            change.lay(draft)
        except Refused as error:
            raise Refused(f"changes[{number}]" + (f".{error.where}" if error.where else ""), error.text) from None
    try:
        return draft.problem()
    except Refused as error:
        raise Refused("changes", error.text) from None
    except ValueError as error:
        raise Refused("changes", f"together they give no valid problem: {error}") from error


def limits_asked(changes: Sequence[Change]) -> dict[str, dict[str, float]]:
    """limit set -> variable -> limit (m/s) that these changes ask for: what new tables must be made for."""
    asked: dict[str, dict[str, float]] = {}
    for one in changes:
        if isinstance(one, numbers.LimitChanged):
            asked.setdefault(one.limit_set, {})[one.quantity] = one.value
    return asked


def already_so(now: Problem, changed: Problem, change: Change) -> bool:
    """Whether `now` says already what the change made of `changed`."""
    return bool(change.part(now) == change.part(changed))


def _refuse_twice(problem: Problem, changes: Sequence[Change]) -> None:
    """Two changes that decide the same thing."""
    seen: dict[str, int] = {}
    for number, change in enumerate(changes):
        for target in change.targets(problem):
            if target in seen:
                raise Refused(f"changes[{number}]", f"{target} is changed by changes[{seen[target]}] already: keep one of them")
            seen[target] = number
