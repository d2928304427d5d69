"""An order's story."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import User

from tests.farm import TODAY, Farm
from tests.page_rows import build_order
from workorders.services.moves import order_move
from workorders.views.story import story


def test_moves_and_changes_stand_in_order_with_who_and_when(farm: Farm, planner_user: User) -> None:
    order = build_order(farm.h1, farm)
    order.due_on = TODAY + timedelta(days=12)
    order.save()
    order_move(order=order, name="prepare", by=planner_user, note="parts are here")
    told = [(line["who"], line["what"]) for line in story(order, farm.hill.zone)]
    assert told[0] == ("Lull", "raised (by hand)")
    assert ("Lull", "due date 2026-06-20 to 2026-06-22") in told
    assert ("planner", "raised to prepared: parts are here") in told


def test_times_are_those_of_the_site(farm: Farm) -> None:
    (line,) = story(build_order(farm.h1, farm), farm.hill.zone)
    assert line["when"] == "Wed 10 Jun 2026, 08:00 CEST"
