"""Holding parts of a plan: what is kept, what contradicts what, and letting go."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.errors import NotAllowedError, PlannerError
from planner.models import Absence
from scheduling.models import FrozenDay, Lock
from scheduling.services import locks
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order, build_plan, build_visit
from workorders.models import Hold, Order

NINE = datetime(2026, 6, 11, 7, 0, tzinfo=UTC)  # 09:00 at HILL, Thursday
THURSDAY = TODAY + timedelta(days=1)


@pytest.fixture
def order(farm: Farm) -> Order:
    """An order on H2."""
    return build_order(farm.h2, farm)


def pin(order: Order, at: datetime = NINE, **more: Any) -> Lock:
    return locks.visit_pin(order=order, starts_at=at, by=None, now=NOW, **more)


def refused(ask: Callable[[], Any]) -> str:
    """The sentence of a refusal; nothing is kept of what was asked."""
    before = Lock.objects.count(), FrozenDay.objects.count()
    with pytest.raises(PlannerError) as found:
        ask()
    assert (Lock.objects.count(), FrozenDay.objects.count()) == before
    return found.value.message


def test_a_pin_says_what_by_whom_and_why_and_is_let_go_once(order: Order, planner_user: User) -> None:
    lock = locks.visit_pin(order=order, starts_at=NINE, by=planner_user, reason="crane driver booked", now=NOW)
    assert (lock.first_day, lock.last_day, lock.starts_at, lock.by) == (THURSDAY, THURSDAY, NINE, planner_user)
    locks.lock_release(lock=lock, by=planner_user, now=NOW)
    assert (lock.released_at, lock.released_by) == (NOW, planner_user)
    assert "released already" in refused(lambda: locks.lock_release(lock=lock, by=planner_user, now=NOW))
    assert lock.history.count() == 2
    pin(order)  # free again


def test_only_planners_hold_and_release(order: Order, lead_user: User, farm: Farm) -> None:
    with pytest.raises(NotAllowedError):
        locks.visit_pin(order=order, starts_at=NINE, by=lead_user, now=NOW)
    with pytest.raises(NotAllowedError):
        locks.lock_release(lock=pin(order), by=lead_user)
    with pytest.raises(NotAllowedError):
        locks.day_freeze(base=farm.north, day=TODAY, by=lead_user, now=NOW)


class TestContradictions:
    def test_two_pins_for_one_visit(self, order: Order) -> None:
        pin(order)
        assert "is pinned to 2026-06-11 already" in refused(lambda: pin(order, NINE + timedelta(days=1)))

    def test_visits_in_the_wrong_order(self, order: Order) -> None:
        pin(order)
        assert "cannot be on 2026-06-11" in refused(lambda: pin(order, NINE + timedelta(hours=2), number=1))
        pin(order, NINE + timedelta(days=1), number=1)

    def test_a_pin_on_a_forbidden_day_and_the_other_way_round(self, farm: Farm, order: Order) -> None:
        lock = locks.day_forbid(order=order, first_day=THURSDAY, last_day=THURSDAY + timedelta(days=2), by=None, now=NOW)
        assert "is forbidden on 2026-06-11 to 2026-06-13" in refused(lambda: pin(order))
        locks.lock_release(lock=lock, by=None, now=NOW)
        pin(order)
        text = refused(lambda: locks.day_forbid(order=order, first_day=TODAY, last_day=THURSDAY, by=None, now=NOW))
        assert "Visit 1 of HILL-1 is pinned to 2026-06-11" in text

    def test_a_pin_outside_the_orders_days(self, farm: Farm, order: Order) -> None:
        hold = Hold.objects.create(order=order, kind="access", reason="road", since=TODAY, expected_until=date(2026, 6, 13))
        assert "may not be worked on 2026-06-11: held (access): road" in refused(lambda: pin(order))
        hold.delete()
        Order.objects.filter(pk=order.pk).update(opens_on=date(2026, 6, 12))
        order.refresh_from_db()
        assert "not before 2026-06-12" in refused(lambda: pin(order))
        shut = build_order(farm.h3, farm, "HILL-3")
        assert "kite nest" in refused(lambda: pin(shut))

    def test_past_days_odd_minutes_and_closed_orders(self, order: Order) -> None:
        assert "is over" in refused(lambda: pin(order, NINE - timedelta(days=3)))
        assert "full or half hour" in refused(lambda: pin(order, NINE + timedelta(minutes=7)))
        order.state = "accepted"
        assert "only orders still to be planned" in refused(lambda: pin(order))

    def test_people_who_are_away_or_of_elsewhere(self, farm: Farm, order: Order) -> None:
        ada = farm.people["Ada"]
        assert "Nobody is named" in refused(lambda: locks.team_pin(order=order, people=[], by=None, now=NOW))
        locks.team_pin(order=order, people=[ada], by=None, now=NOW)
        again = refused(lambda: locks.team_pin(order=order, people=[farm.people["Ben"]], by=None, now=NOW))
        assert "held already" in again
        Absence.objects.create(technician=ada, first_day=THURSDAY, last_day=THURSDAY)
        assert "Ada is away on 2026-06-11" in refused(lambda: pin(order))
        ada.active = False
        text = refused(lambda: locks.team_pin(order=order, people=[ada], number=1, by=None, now=NOW))
        assert "no active technician" in text

    def test_days_upside_down_and_too_many(self, order: Order) -> None:
        def forbid(last: date) -> Callable[[], Lock]:
            return lambda: locks.day_forbid(order=order, first_day=THURSDAY, last_day=last, by=None, now=NOW)

        assert "lies before" in refused(forbid(TODAY))
        assert "more than 366 days" in refused(forbid(date(2028, 1, 1)))


class TestFreeze:
    def test_a_day_without_a_plan(self, farm: Farm) -> None:
        text = refused(lambda: locks.day_freeze(base=farm.north, day=THURSDAY, by=None, now=NOW))
        assert "No plan is published for 2026-06-11" in text

    def test_twice_and_again_after_release(self, farm: Farm) -> None:
        build_plan(farm)
        frozen = locks.day_freeze(base=farm.north, day=THURSDAY, by=None, reason="visitors", now=NOW)
        assert "frozen already" in refused(lambda: locks.day_freeze(base=farm.north, day=THURSDAY, by=None, now=NOW))
        locks.day_release(frozen=frozen, by=None, now=NOW)
        locks.day_freeze(base=farm.north, day=THURSDAY, by=None, now=NOW)

    def test_locks_that_say_otherwise(self, farm: Farm, order: Order) -> None:
        def freeze() -> FrozenDay:
            return locks.day_freeze(base=farm.north, day=THURSDAY, by=None, now=NOW)

        build_visit(build_plan(farm), farm, order, day=THURSDAY, start=time(9))
        cleo, seventh = [farm.people["Cleo"]], build_order(farm.h1, farm, "HILL-7")
        asked: tuple[tuple[Callable[[], Lock], str], ...] = (
            (lambda: pin(order, NINE + timedelta(hours=1)), "pinned elsewhere"),
            (lambda: locks.team_pin(order=order, people=cleo, by=None, now=NOW), "sends others"),
            (lambda: pin(seventh), "does not have it"),
            (lambda: locks.day_forbid(order=order, first_day=THURSDAY, by=None, now=NOW), "is forbidden there"),
        )
        for make, said in asked:
            lock = make()
            assert said in refused(freeze)
            locks.lock_release(lock=lock, by=None, now=NOW)
        freeze()
        other = build_order(farm.h1, farm, "HILL-8")
        assert "frozen and visit 1 of HILL-8 does not stand there" in refused(lambda: pin(other))
        text = refused(lambda: locks.day_forbid(order=order, first_day=THURSDAY, by=None, now=NOW))
        assert "stands on 2026-06-11, which is frozen" in text
        text = refused(lambda: locks.team_pin(order=order, people=[farm.people["Cleo"]], by=None, now=NOW))
        assert "release the day first" in text
        pin(order)  # as it stands


def test_a_visit_of_a_plan_is_held_with_all_its_orders_or_none(farm: Farm, order: Order) -> None:
    visit = build_visit(build_plan(farm), farm, order, day=THURSDAY)
    second = build_order(farm.h2, farm, "HILL-2")
    visit.jobs.create(order=second, number=0, work_min=60)
    lock = pin(second, NINE + timedelta(days=1))
    assert "pinned to 2026-06-12 already" in refused(
        lambda: locks.visit_hold_as_planned(visit=visit, kind="visit", by=None, now=NOW)
    )
    locks.lock_release(lock=lock, by=None, now=NOW)
    assert len(locks.visit_hold_as_planned(visit=visit, kind="visit", by=None, now=NOW)) == 2
    teams = locks.visit_hold_as_planned(visit=visit, kind="team", by=None, now=NOW)
    assert [{one.name for one in team.people.all()} for team in teams] == [{"Ada", "Ben"}] * 2
