"""A plan is held against the register of the moment it is published: each kind of change since the solve is named."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.errors import ConflictError
from planner.models import (
    Absence,
    Certificate,
    Closure,
    Equipment,
    EquipmentBooking,
    ProcedureEquipment,
    ProcedurePart,
    ProcedureSkill,
    ShiftPattern,
)
from scheduling.models import Plan, Visit
from scheduling.services.publish import plan_publish
from tests.farm import NOW, Farm
from tests.page_rows import build_plan, build_visit
from tests.scheduling.services import scenes
from tests.scheduling.services.test_publish import draft, states
from workorders.models import Hold, Order, OrderMove

WED, THU = date(2026, 6, 10), date(2026, 6, 11)


def order(number: str) -> Order:
    return Order.objects.get(number=number)


def refused(plan: Plan, now: datetime = NOW) -> list[str]:
    """What publishing says; nothing of it may be done."""
    before = states()
    with pytest.raises(ConflictError) as error:
        plan_publish(plan=plan, by=None, now=now)
    assert (Plan.objects.get(pk=plan.pk).state, OrderMove.objects.count(), states()) == ("draft", 0, before)
    assert error.value.message.startswith(f"Plan {plan.pk} ")
    return list(error.value.extra.get("violations", [error.value.message]))


def certificate_ended(farm: Farm) -> None:
    Certificate.objects.filter(technician__name="Ben", kind__code="heights").update(valid_until=WED)


def absent(farm: Farm) -> None:
    Absence.objects.create(technician=farm.people["Ben"], first_day=THU, last_day=THU, reason="private")


def left(farm: Farm) -> None:
    type(farm.people["Ben"]).objects.filter(name="Ben").update(active=False)


def lift_lapsed(farm: Farm) -> None:
    farm.intervals["lift-12"].done.filter(turbine=farm.h2).update(done_on=THU - timedelta(days=366))


def climbing_lapsed(farm: Farm) -> None:
    type(farm.intervals["lift-12"]).objects.filter(code="lift-12").update(stops=["climbing"])
    lift_lapsed(farm)


def site_closed(farm: Farm) -> None:
    Closure.objects.create(site=farm.hill, turbine=farm.h2, kind="road", reason="road up", first_day=THU, last_day=THU)


def on_hold(farm: Farm) -> None:
    Hold.objects.create(order=order("W-2"), kind="permit", reason="no permit", since=WED)


def withdrawn(farm: Farm) -> None:
    Order.objects.filter(number="W-2").update(state="withdrawn")


def finished(farm: Farm) -> None:
    Order.objects.filter(number="W-2").update(state="finished")


def nothing_left(farm: Farm) -> None:
    Order.objects.filter(number="W-2").update(effort_left_h=0)


def planned_elsewhere(farm: Farm) -> None:
    later = build_plan(farm, first_day=date(2026, 6, 15), last_day=date(2026, 6, 20))
    build_visit(later, farm, order("W-2"), day=date(2026, 6, 16))


def no_crane(farm: Farm) -> None:
    crane = Equipment.objects.create(name="jack", kind="hoist", base=farm.north)
    EquipmentBooking.objects.create(equipment=crane, first_day=WED, last_day=WED)
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=crane)


def no_parts(farm: Farm) -> None:
    part = farm.procedures["pitch-repair"].part_needs.get().part  # a motor, due on the 18th
    ProcedurePart.objects.create(procedure=farm.procedures["lamp"], part=part)


def skill_asked(farm: Farm) -> None:
    skill = farm.procedures["pitch-repair"].skill_needs.get().skill
    ProcedureSkill.objects.create(procedure=farm.procedures["lamp"], skill=skill, level=3, count=2)
    Certificate.objects.filter(technician__name="Ben", kind__code="voltage").update(valid_until=WED)


def shift_cut(farm: Farm) -> None:
    ShiftPattern.objects.update(end=time(10), overtime_h=0)


def windy(farm: Farm) -> None:
    scenes.forecast(farm, 14.0)


SINCE: list[tuple[Callable[[Farm], None], tuple[str, ...]]] = [
    (certificate_ended, ("HILL H2 on 2026-06-11, 08:30: Ben lacks a valid base certificate that day",)),
    (absent, ("Ben has no shift on 2026-06-11",)),
    (
        left,
        ("Ben is no active technician of North any more: HILL H1 on Wed 10 Jun", "Ben is no active technician.*H2 on Thu 11 Jun"),
    ),
    (lift_lapsed, ("HILL H2 on Thu 11 Jun: the lift is shut that day, the stay takes 180 min, 150 are planned",)),
    (climbing_lapsed, ("W-2 may not be worked at HILL H2 on Thu 11 Jun: .*",)),
    (site_closed, ("W-2 may not be worked at HILL H2 on Thu 11 Jun: closed until 2026-06-11: road up",)),
    (on_hold, (r"W-2 is on hold \(permit: no permit\), and the plan has it at HILL H2 on Thu 11 Jun",)),
    (withdrawn, ("W-2 is withdrawn, and the plan has it at HILL H2 on Thu 11 Jun",)),
    (finished, ("W-2 is finished, and .*",)),
    (nothing_left, ("W-2 has no work left, and .*",)),
    (planned_elsewhere, (r"W-2 is planned on 2026-06-16 in plan \d+, which is published, and .*",)),
    (no_crane, ("W-2 may not be worked at HILL H2 on Thu 11 Jun: jack is not there",)),
    (no_parts, ("W-1 may not be worked.*Wed 10 Jun: parts not before 2026-06-18", "W-2 may not.*: parts are out of stock.*")),
    (skill_asked, ("HILL H2 on 2026-06-11, 08:30: 1 hold electrical level 3, 2 are asked for by order W-2",)),
    (shift_cut, ("Ada is away .*06-10, .*", "Ben is away .*", "Ada is away .*06-11, .*", "Ben is away .*")),
    (
        windy,
        (
            r"by the newest forecast, HILL H1 on 2026-06-10, 08:30: the whole stay fits in \d+% of the members, .*",
            "by the newest forecast, HILL H2 on 2026-06-11, 08:30: .*",
        ),
    ),
]


@pytest.mark.parametrize(("change", "said"), SINCE, ids=[change.__name__ for change, _ in SINCE])
def test_each_change_is_one_sentence_and_nothing_is_done(
    rows: Farm, change: Callable[[Farm], None], said: tuple[str, ...]
) -> None:
    plan = draft(rows)
    change(rows)
    told = refused(plan)
    assert len(told) == len(said), told
    for text, pattern in zip(told, said, strict=True):
        assert re.fullmatch(pattern, text), text


def test_a_stale_forecast_is_no_ground_to_send_people_on(rows: Farm) -> None:
    plan = draft(rows)
    (said,) = refused(plan, NOW + timedelta(hours=8))
    assert "The newest forecast of Hillside" in said
    assert "13 h old" in said
    assert "import a newer one" in said


def test_a_lift_opened_since_leaves_the_longer_stay_as_it_is(rows: Farm) -> None:
    """Planned by ladder in five slots, ridden now: safe as it stands."""
    plan = draft(rows)
    problem = plan.run.problem
    for turbine in problem["turbines"]:
        turbine["access"] = [{"by": "ladder", "up_min": 14, "down_min": 14}] * 2
    for visit in plan.run.best["visits"]:
        visit["by"] = "ladder"
    plan.run.save()
    assert plan_publish(plan=plan, by=None, now=NOW).state == "published"


def test_what_has_begun_is_past_changing(rows: Farm) -> None:
    """At 09:00 of Wednesday the people of W-1 are up; that its certificate ended yesterday stops only what lies ahead."""
    plan = draft(rows)
    Certificate.objects.filter(technician__name="Ben", kind__code="heights").update(valid_until=WED - timedelta(days=1))
    (said,) = refused(plan, NOW + timedelta(hours=1))
    assert "2026-06-11" in said


def test_queries_do_not_grow_with_visits(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    def queries(made: Any) -> int:
        plan = draft(rows, made)
        Hold.objects.create(order=order("W-1"), kind="other", reason="wait", since=WED)
        with CaptureQueriesContext(connection) as seen, pytest.raises(ConflictError):
            plan_publish(plan=plan, by=None, now=NOW)
        Hold.objects.all().delete()
        return len(seen)

    both, one = queries(scenes.good_plan()), queries(scenes.half_plan())
    assert both == one
    assert Visit.objects.count() == 3
