"""Who did it."""

from __future__ import annotations

from django.contrib.auth.models import User

from planner.models import Part
from tests.farm import Farm
from workorders.services.history import history_write, save_by


def test_saving_names_the_user_once_only(farm: Farm, planner_user: User) -> None:
    part = Part.objects.get(code="motor")
    save_by(part, planner_user)
    part.save()
    assert [row.history_user for row in part.history.all()][:2] == [None, planner_user]


def test_an_update_leaves_its_trace(farm: Farm, planner_user: User) -> None:
    Part.objects.filter(code="motor").update(stock=7)
    part = Part.objects.get(code="motor")
    history_write(part, planner_user, "counted")
    last = part.history.first()
    assert (last.stock, last.history_user, last.history_change_reason, last.history_type) == (7, planner_user, "counted", "~")
