"""Publishing a what-if: what the register bears out, and what it does not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError

from planner.errors import ConflictError, NotAllowedError
from planner.models import Absence, Closure, HeldSkill, LimitSet, Technician
from scheduling.models import Plan, Run, WhatIf
from scheduling.selectors.plans import plan_current, plan_list
from scheduling.services.drafts import plan_draft
from scheduling.services.publish import plan_publish
from scheduling.services.what_ifs import publish as module
from scheduling.services.what_ifs import what_if_change, what_if_publish, what_if_solve
from scheduling.services.what_ifs.publish import what_if_needs
from tests.farm import NOW, Farm
from tests.page_rows import build_plan
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import AWAY, CLOSED, HIRED, solved, what_if

LATER = NOW + timedelta(minutes=10)


def publish(made: WhatIf, by: User | None = None) -> Plan:
    return what_if_publish(what_if=made, by=by, now=LATER)


def refused(made: WhatIf) -> ConflictError:
    with pytest.raises(ConflictError) as told:
        publish(made)
    made.refresh_from_db()
    assert made.state == "open"
    assert not Plan.objects.filter(state__in=("draft", "published")).exists(), "a refused what-if leaves no draft behind"
    return told.value


def test_a_plan_that_holds_is_published_and_ends_the_what_if(rows: Farm, planner_user: User) -> None:
    made = solved(rows, CLOSED)  # nobody at H1 on Wednesday: stricter than the register
    plan = publish(made, planner_user)
    made.refresh_from_db()
    assert (plan.state, plan.published_by, made.state) == ("published", planner_user, "published")
    assert plan_current(base=rows.north) == plan
    assert [(v.turbine.code, v.day) for v in plan.visits.filter(turbine=rows.h1)] == [("H1", date(2026, 6, 11))]
    assert set(rows.h1.orders.values_list("state", flat=True)) == {"slotted"}
    with pytest.raises(ConflictError, match="is published: make a new one"):
        publish(made)


def test_who_was_only_thought_of_must_be_entered_first(rows: Farm) -> None:
    Absence.objects.create(technician=rows.people["Ben"], first_day=date(2026, 6, 8), last_day=date(2026, 6, 14))
    made = solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    error = refused(made)
    assert "Eve is no active technician of North" in error.message
    assert error.message.endswith(
        "To make this what-if true, first: enter Eve as a technician of the base with shift pattern, skills and valid "
        "certificates of their own (Register, Technicians); "
        "enter an absence of Cleo on Wed 10 Jun to Thu 11 Jun (Register, Technicians)."
    )
    assert [row["change"] for row in error.extra["register"]] == [0, 1]


def test_once_the_register_says_so_it_is_published(rows: Farm) -> None:
    Absence.objects.create(technician=rows.people["Ben"], first_day=date(2026, 6, 8), last_day=date(2026, 6, 14))
    made = solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    ada = rows.people["Ada"]
    eve = Technician.objects.create(name="Eve", base=rows.north, shift_pattern=ada.shift_pattern)
    assert refused(made).extra["violations"], "a technician without certificates is not enough"
    for one in ada.certificates.all():
        one.pk, one.technician = None, eve
        one.save()
    for skill in ada.skills.all():
        HeldSkill.objects.create(technician=eve, skill=skill.skill, level=skill.level)
    assert publish(made).visits.filter(people=eve).exists()


def test_somebody_away_in_the_register_only_is_found_out(rows: Farm) -> None:
    made = solved(rows, CLOSED)
    Absence.objects.create(technician=rows.people["Ada"], first_day=date(2026, 6, 8), last_day=date(2026, 6, 14))
    Absence.objects.create(technician=rows.people["Ben"], first_day=date(2026, 6, 8), last_day=date(2026, 6, 14))
    assert "no longer holds" in refused(made).message


def test_a_raised_limit_must_be_in_the_register(farm: Farm) -> None:
    list(scenes.orders(farm))
    scenes.ready(farm, mps=13.0)
    limits = [{"kind": "limit", "limit_set": "tower", "value": v, "quantity": q} for q, v in (("wind", 20), ("gust", 30))]
    made = solved(farm, *limits)
    error = refused(made)
    assert "by the newest forecast" in error.message
    assert "if the maker's manual and the site's rules allow it" in error.message
    tower = LimitSet.objects.get(code="tower")
    tower.limits.filter(quantity="wind").update(value=20)
    tower.limits.filter(quantity="gust").update(value=30)
    assert publish(made).state == "published"


def test_a_longer_shift_must_be_in_the_register(rows: Farm) -> None:
    """With five hours of work more than the shifts of the register have room for."""
    rows.h1.orders.update(effort_left_h=20)
    rows.procedures["lamp"].__class__.objects.filter(code="lamp").update(team_max=2)
    longer = [{"kind": "shift longer", "person": name, "minutes": 180} for name in ("Ada", "Ben", "Cleo")]
    made = solved(rows, *longer)
    assert made.result is not None
    planned = {job["order"] for visit in made.result.best["visits"] for job in visit["jobs"]}
    assert "W-1" in planned, "the longer shift is what lets it in"
    error = refused(made)
    assert "the shift is" in error.message
    assert "change the overtime hours of Ada's shift pattern by +3 h" in error.message
    pattern = rows.people["Ada"].shift_pattern
    pattern.overtime_h += 3
    pattern.save()
    assert publish(made).state == "published"


def test_work_done_in_another_way_must_be_in_the_register(rows: Farm) -> None:
    made = solved(rows, {"kind": "order mode", "order": "W-1", "team": 2, "visits_min": [30]})
    error = refused(made)
    assert "W-1 is planned by 2 people, the register asks for 2 people in 120 min" in error.message
    assert "set the effort left of order W-1 to 1 person-hours" in error.message
    rows.h1.orders.filter(number="W-1").update(effort_left_h=1)
    assert publish(made).state == "published"


def test_confidence_below_the_sites_is_refused(farm: Farm) -> None:
    list(scenes.orders(farm))
    scenes.ready(farm, mps=11.0)
    made = solved(farm, {"kind": "confidence", "share": 0.5})
    assert made.result is not None
    chances = [visit["chance"] for visit in made.result.best["visits"]]
    assert chances, "something must be planned for this test to say anything"
    assert min(chances) < 0.8, "and only because less is asked"
    assert "set the confidence of the base's sites to 0.5" in refused(made).message


def test_prices_and_dates_are_no_hindrance(rows: Farm) -> None:
    made = solved(
        rows,
        {"kind": "weight", "weight": "travel", "value": 3},
        {"kind": "due date", "order": "W-1", "day": "2026-06-10"},
        {"kind": "left out cost", "order": "W-2", "cost": 9000},
    )
    assert [need.cure for need in what_if_needs(made, NOW)] == ["give order W-1 the due date 2026-06-10 (Orders)"]
    assert publish(made).state == "published"


def test_what_the_register_says_already_is_no_need(rows: Farm) -> None:
    made = what_if(rows, AWAY, CLOSED)
    assert [need.number for need in what_if_needs(made, NOW)] == [0, 1]
    Absence.objects.create(technician=rows.people["Ada"], first_day=date(2026, 6, 10), last_day=date(2026, 6, 10))
    assert [need.number for need in what_if_needs(made, NOW)] == [1]
    Closure.objects.create(
        site=rows.hill, turbine=rows.h1, kind="birds", reason="nest", first_day=date(2026, 6, 10), last_day=date(2026, 6, 10)
    )
    assert what_if_needs(made, NOW) == []


def test_a_plan_published_since_it_was_frozen_stands_against_it(rows: Farm) -> None:
    """However late it was solved: its problem does not know what people were told."""
    made = solved(rows, CLOSED)
    build_plan(rows, published_at=NOW + timedelta(minutes=1), first_day=scenes.FIRST, last_day=scenes.FIRST)
    Run.objects.filter(pk=made.result_id).update(asked_at=NOW + timedelta(minutes=5))
    with pytest.raises(ConflictError, match="after what-if 'less wind' was asked for: make a new one"):
        publish(WhatIf.objects.get())


def test_unsolved_changed_and_solving_ones_are_refused(rows: Farm) -> None:
    made = what_if(rows, CLOSED)
    assert "has no plan for its changes as they stand: solve it first" in refused(made).message
    made = what_if_change(what_if=solved(rows, CLOSED, name="two"), by=None, add=[AWAY])
    assert "solve it first" in refused(made).message
    what_if_solve(what_if=made, by=None)
    assert "is queued: wait for it or stop it" in refused(made).message


def test_its_plan_is_never_the_bases_newest_draft_nor_published_by_accident(rows: Farm) -> None:
    made = solved(rows, CLOSED)
    assert made.result is not None
    stray = plan_draft(run=made.result)  # as after a crash between drafting and publishing
    assert list(plan_list(sites=[rows.hill])) == []
    with pytest.raises(ConflictError, match="answers a what-if: publish it there"):
        plan_publish(plan=stray, by=None, now=LATER)
    assert publish(made).pk == stray.pk
    assert list(plan_list(sites=[rows.hill])) == [stray]


def test_of_two_who_publish_at_once_one_is_told(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    made = solved(rows, CLOSED)

    def faster(**asked: object) -> Plan:
        raise IntegrityError

    monkeypatch.setattr(module, "plan_draft", faster)
    assert "Somebody is publishing what-if 'less wind' at this moment" in refused(made).message


def test_changed_while_it_is_published_it_is_not(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    made = solved(rows, CLOSED)
    WhatIf.objects.filter(pk=made.pk).update(changes=[AWAY])
    assert "or was changed: somebody was faster" in refused(made).message


def test_only_planners(rows: Farm, viewer_user: User, stranger: User) -> None:
    made = solved(rows, CLOSED)
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            publish(made, user)
