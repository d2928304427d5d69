"""Adding changes and taking some off."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from scheduling.fortnight.changes import apply
from scheduling.models import WhatIf
from scheduling.services.what_ifs import change as module
from scheduling.services.what_ifs import what_if_change, what_if_solve, what_if_throw_away
from scheduling.services.what_ifs.rows import base_problem, changed_problem, changes_of, register_of
from tests.farm import Farm
from tests.scheduling.services.what_ifs.scenes import AWAY, CLOSED, HIRED, solved, what_if

LIMIT = {"kind": "limit", "limit_set": "tower", "value": 3.0, "quantity": "wind"}


def test_changes_come_and_go(rows: Farm) -> None:
    made = what_if(rows, AWAY)
    made = what_if_change(what_if=made, by=None, add=[CLOSED, HIRED])
    assert made.changes == [AWAY, CLOSED, HIRED]
    made = what_if_change(what_if=made, by=None, add=[{"kind": "confidence", "share": 0.9}], remove=[0, 2])
    assert made.changes == [CLOSED, {"kind": "confidence", "share": 0.9}]
    assert WhatIf.objects.get().changes == made.changes
    assert made.history.count() == 3


def test_what_is_left_out_is_filled_in(rows: Farm) -> None:
    made = what_if_change(what_if=what_if(rows), by=None, add=[{"kind": "person added", "person": "Eve", "like": "Ben"}])
    assert made.changes == [{"kind": "person added", "person": "Eve", "like": "Ben", "day_cost": 0.0}]


@pytest.mark.parametrize(
    ("asked", "field", "told"),
    [
        ({}, "add", "Nothing to change"),
        ({"remove": [1]}, "remove", "There is no change number 1; there are 0 to 0"),
        ({"remove": [-1]}, "remove", "no change number -1"),
        ({"add": [AWAY, AWAY | {"person": "Zoe"}]}, "changes", r"changes\[2\].person"),
        ({"add": [{"kind": "rescue pair"}]}, "changes", "every team can rescue its own"),
        ({"add": [7]}, "changes", r"changes\[1\]: expected an object"),
        ({"add": [{"kind": "limit", "limit_set": "moon", "value": 3}]}, "changes", "'moon' is no limit set"),
    ],
)
def test_what_does_not_fit_changes_nothing(asked: dict[str, Any], field: str, told: str, rows: Farm) -> None:
    made = what_if(rows, CLOSED)
    with pytest.raises(PlannerError, match=told) as error:
        what_if_change(what_if=made, by=None, **asked)
    assert error.value.field == field
    assert WhatIf.objects.get().changes == [CLOSED]


def test_another_limit_has_its_tables_made_and_kept(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    made = what_if_change(what_if=what_if(rows), by=None, add=[LIMIT])  # the forecast has 4 m/s at 100 m
    assert made.tables["made_for"] == {"tower": {"wind": 3.0}}
    assert changed_problem(made).workable == made.tables["workable"] != base_problem(made).workable
    monkeypatch.setattr(module, "limit_tables", None)
    made = what_if_change(what_if=made, by=None, add=[CLOSED])
    assert changed_problem(made).workable == made.tables["workable"]
    monkeypatch.undo()
    made = what_if_change(what_if=made, by=None, remove=[0])
    assert made.tables == {}
    assert changed_problem(made).workable == base_problem(made).workable


def test_an_answer_to_other_changes_is_let_go(rows: Farm) -> None:
    made = solved(rows, CLOSED)
    assert made.result is not None
    made = what_if_change(what_if=made, by=None, add=[AWAY])
    assert (made.result, made.left_out) == (None, [])


def test_while_a_run_solves_nothing_changes(rows: Farm) -> None:
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)
    with pytest.raises(ConflictError, match=f"Run {run.pk} of what-if 'less wind' is queued: wait for it or stop it"):
        what_if_change(what_if=made, by=None, add=[AWAY])


def test_of_two_who_change_at_once_one_is_told(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    made = what_if(rows)
    real = module.laid

    def slow(row: WhatIf, data: list[Any]) -> Any:
        WhatIf.objects.filter(pk=row.pk).update(changes=[CLOSED])
        return real(row, data)

    monkeypatch.setattr(module, "laid", slow)
    with pytest.raises(ConflictError, match="Somebody changed what-if"):
        what_if_change(what_if=made, by=None, add=[AWAY])
    assert WhatIf.objects.get().changes == [CLOSED]


def test_closed_ones_and_strangers(rows: Farm, viewer_user: User, stranger: User) -> None:
    made = what_if(rows)
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            what_if_change(what_if=made, by=user, add=[AWAY])
    made = what_if_throw_away(what_if=made, by=None)
    with pytest.raises(ConflictError, match="thrown away"):
        what_if_change(what_if=made, by=None, add=[AWAY])


def test_the_stored_row_gives_the_changed_problem(rows: Farm) -> None:
    made = WhatIf.objects.get(pk=what_if(rows, AWAY, CLOSED, HIRED).pk)
    assert changed_problem(made) == apply(base_problem(made), changes_of(made), register_of(made))
