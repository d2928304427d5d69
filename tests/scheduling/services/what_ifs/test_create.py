"""Making what-ifs and throwing them away."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Absence
from scheduling.models import Run, WhatIf
from scheduling.services.what_ifs import what_if_solve, what_if_throw_away
from scheduling.services.what_ifs.rows import base_problem
from tests.farm import Farm
from tests.scheduling.services.what_ifs.scenes import AWAY, CLOSED, what_if


def test_it_freezes_the_problem_of_its_moment(rows: Farm, planner_user: User) -> None:
    made = what_if(rows, AWAY, by=planner_user, note="  Ada is ill ")
    before = base_problem(made)
    Absence.objects.create(technician=rows.people["Ben"], first_day=date(2026, 6, 10), last_day=date(2026, 6, 20))
    made.refresh_from_db()
    assert base_problem(made) == before
    assert {order.id for order in before.orders} == {"W-1", "W-2"}
    assert {person.id: len(person.shifts) for person in before.people}["Ada"] == 2, "the problem is kept without the changes"
    assert (made.state, made.by, made.note, made.changes) == ("open", planner_user, "Ada is ill", [AWAY])
    assert made.history.count() == 1


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"name": "a\x00b"}, "name"),
        ({"days": 0}, "days"),
        ({"days": 29}, "days"),
        ({"note": "x" * 2001}, "note"),
    ],
)
def test_what_cannot_be_asked_is_refused(fields: dict[str, Any], field: str, rows: Farm) -> None:
    with pytest.raises(PlannerError) as told:
        what_if(rows, **fields)
    assert told.value.field == field
    assert not WhatIf.objects.exists()


def test_a_change_that_does_not_fit_is_refused_with_its_path(rows: Farm) -> None:
    with pytest.raises(
        PlannerError, match=r"changes\[1\].person: 'Zoe' is no person of this problem; there are Ada, Ben"
    ) as told:
        what_if(rows, CLOSED, {**AWAY, "person": "Zoe"})
    assert told.value.field == "changes"
    assert not WhatIf.objects.exists()


def test_without_a_forecast_there_is_nothing_to_try(farm: Farm) -> None:
    with pytest.raises(PlannerError, match="has no forecast"):
        what_if(farm)


def test_a_name_is_taken_once_among_the_open_ones_of_a_base(rows: Farm) -> None:
    first = what_if(rows, name="less  wind")
    assert first.name == "less wind"
    with pytest.raises(ConflictError, match="is an open what-if of North already") as told:
        what_if(rows, name="less wind")
    assert (told.value.field, told.value.extra) == ("name", {"what_if": first.pk})
    what_if_throw_away(what_if=first, by=None)
    assert what_if(rows, name="less wind").pk != first.pk


def test_only_planners_of_every_site_may(rows: Farm, viewer_user: User, stranger: User, lead_user: User) -> None:
    for user in (viewer_user, stranger, lead_user):
        with pytest.raises(NotAllowedError):
            what_if(rows, by=user)
    made = what_if(rows)
    with pytest.raises(NotAllowedError):
        what_if_throw_away(what_if=made, by=viewer_user)


def test_thrown_away_while_a_worker_solves_it_asks_that_run_to_stop(rows: Farm) -> None:
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)
    Run.objects.filter(pk=run.pk).update(state="solving", attempt=1)
    what_if_throw_away(what_if=made, by=None)
    run.refresh_from_db()
    assert (run.state, run.stop_asked) == ("solving", True)


def test_thrown_away_it_takes_its_run_with_it_and_stays_away(rows: Farm) -> None:
    made = what_if(rows)
    run = what_if_solve(what_if=made, by=None)
    gone = what_if_throw_away(what_if=made, by=None)
    run.refresh_from_db()
    assert (gone.state, run.state, run.stop_asked) == ("thrown away", "stopped", True)
    with pytest.raises(ConflictError, match="is thrown away: make a new one"):
        what_if_throw_away(what_if=gone, by=None)
