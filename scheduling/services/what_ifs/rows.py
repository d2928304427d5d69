"""What the services of what-ifs share: reading a row back into records, and the row locked while it is open."""

from __future__ import annotations

from typing import Any

from planner.errors import ConflictError, PlannerError
from scheduling import codec
from scheduling.choices import OPEN, WhatIfState
from scheduling.fortnight.changes import Change, Register, apply, changes_from_json
from scheduling.fortnight.problem import Problem, problem_from_json
from scheduling.models import Run, WhatIf


def open_locked(what_if: WhatIf) -> WhatIf:
    """The row for update inside a transaction, still open; ConflictError otherwise."""
    row = WhatIf.objects.select_for_update().get(pk=what_if.pk)
    refuse_unless_open(row)
    return row


def refuse_unless_open(what_if: WhatIf) -> None:
    """Only an open what-if is changed, solved, published or thrown away."""
    if what_if.state != WhatIfState.OPEN:
        raise ConflictError(f"What-if {what_if.name!r} is {what_if.get_state_display()}: make a new one.")


def refuse_while_solving(what_if: WhatIf) -> None:
    """An answer must answer the question as it stands."""
    run = Run.objects.filter(what_if=what_if, state__in=OPEN).only("pk", "state").first()
    if run is not None:
        text = f"Run {run.pk} of what-if {what_if.name!r} is {run.get_state_display()}: wait for it or stop it."
        raise ConflictError(text, extra={"run": run.pk})


def base_problem(what_if: WhatIf) -> Problem:
    """The frozen problem, before any change."""
    return problem_from_json(what_if.problem)


def register_of(what_if: WhatIf, tables: dict[str, Any] | None = None) -> Register:
    """What the register said, with the tables made since, or others."""
    return codec.from_json(Register, {**what_if.register, **(what_if.tables if tables is None else tables)}, "register")


def changes_of(what_if: WhatIf) -> tuple[Change, ...]:
    """The stored changes."""
    return changes_from_json(what_if.changes)


def changed_problem(what_if: WhatIf) -> Problem:
    """The problem with its changes; PlannerError names the change that does not fit."""
    try:
        return apply(base_problem(what_if), changes_of(what_if), register_of(what_if))
    except ValueError as error:
        raise refused(error) from error


def refused(error: ValueError) -> PlannerError:
    """A change that does not fit, as services say it."""
    return PlannerError(f"{error}.", field="changes")


def tables_json(made_for: dict[str, Any], workable: dict[str, str]) -> dict[str, Any]:
    """The tables as the row keeps them; the names are those of changes.Register."""
    return {"made_for": made_for, "workable": workable} if made_for else {}
