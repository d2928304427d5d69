"""Adding changes to a what-if and taking some off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from planner.errors import ConflictError, PlannerError
from scheduling.builders.what_if import limit_tables
from scheduling.fortnight.changes import apply, changes_from_json, changes_to_json, limits_asked
from scheduling.models import WhatIf
from scheduling.services.runs.create import planner_required
from scheduling.services.what_ifs.rows import (
    base_problem,
    open_locked,
    refuse_unless_open,
    refuse_while_solving,
    refused,
    register_of,
    tables_json,
)


def what_if_change(*, what_if: WhatIf, by: User | None, add: Sequence[Any] = (), remove: Sequence[int] = ()) -> WhatIf:
    """Take off the changes with these numbers (from 0, as in the list) and add others (JSON values), all or nothing.

    The changes together must give a valid problem. An answer to the old list is let go; while a run solves it, nothing changes.
    """
    planner_required(user=by, base=what_if.base)
    refuse_unless_open(what_if)
    refuse_while_solving(what_if)
    before = list(what_if.changes)
    wrong = [number for number in remove if not 0 <= number < len(before)]
    if wrong:
        there = f"0 to {len(before) - 1}" if before else "none yet"
        raise PlannerError(f"There is no change number {wrong[0]}; there are {there}.", field="remove")
    if not add and not remove:
        raise PlannerError("Nothing to change: give changes to add, or numbers to remove.", field="add")
    fields = laid(what_if, [one for n, one in enumerate(before) if n not in set(remove)] + list(add))
    with transaction.atomic():
        row = open_locked(what_if)
        if row.changes != before:
            raise ConflictError(f"Somebody changed what-if {what_if.name!r} meanwhile: look at it again.")
        refuse_while_solving(row)
        put(row, {**fields, "result": None, "left_out": []})
    return row


def put(row: WhatIf, fields: dict[str, Any]) -> None:
    """Set and save these fields."""
    for name, value in fields.items():
        setattr(row, name, value)
    row.save(update_fields=list(fields))


def laid(what_if: WhatIf, data: list[Any]) -> dict[str, Any]:
    """What the row keeps of a list of changes: themselves, in words, and the tables they need. They must fit together."""
    try:
        changes = changes_from_json(data)
        asked = limits_asked(changes)
        tables = tables_json(asked, _tables(what_if, asked))
        problem, register = base_problem(what_if), register_of(what_if, tables)
        changed = apply(problem, changes, register)
    except ValueError as error:
        raise refused(error) from error
    told = [{"said": one.said(changed), "do": one.cure(changed), "caution": one.caution(problem, register)} for one in changes]
    return {"changes": changes_to_json(changes), "told": told, "tables": tables}


def _tables(what_if: WhatIf, asked: dict[str, dict[str, float]]) -> dict[str, str]:
    """The tables that are there, if they are for these limits; else new ones."""
    if what_if.tables.get("made_for") == asked:
        kept: dict[str, str] = what_if.tables["workable"]
        return kept
    return limit_tables(
        base=what_if.base,
        problem=base_problem(what_if),
        forecasts=what_if.forecasts,
        made_at=what_if.created_at,
        asked={code: limits for code, limits in asked.items() if code in what_if.register["limits"]},
    )
