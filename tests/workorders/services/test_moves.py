"""An order moves along its table, whoever else moves it at the same time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from threading import Barrier
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError, PlannerError
from tests.farm import NOW, TODAY, Farm, build_farm, build_user
from workorders.models import Hold, Order, OrderMove
from workorders.services.moves import order_move
from workorders.services.orders import order_raise_by_hand


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["pitch-repair"], due_on=TODAY, by=planner_user)


def walk(order: Order, by: User | None, *names: str, **more: Any) -> Order:
    for name in names:
        order_move(order=order, name=name, by=by, note="because", **more)
    return order


def refused(error: type[PlannerError], order: Order, name: str, by: User | None, words: str, **more: Any) -> PlannerError:
    """The move raises exactly this error, and nothing changed: neither the row, nor its story, nor the object in hand."""
    before = (Order.objects.values().get(pk=order.pk), OrderMove.objects.count(), order.history.count(), order.state)
    with pytest.raises(error, match=words) as refusal:
        order_move(order=order, name=name, by=by, **more)
    assert type(refusal.value) is error
    assert before == (Order.objects.values().get(pk=order.pk), OrderMove.objects.count(), order.history.count(), order.state)
    return refusal.value


def test_a_whole_life(farm: Farm, order: Order, planner_user: User, technician_user: User, lead_user: User) -> None:
    walk(order, planner_user, "prepare", "slot")
    walk(order, technician_user, "start", "finish")
    assert (order.state, order.done_on, order.finished_by, order.effort_left_h) == ("finished", TODAY, technician_user, 0)
    walk(order, lead_user, "accept")
    story = [(move.name, move.source, move.target, move.by, move.at) for move in order.moves.all()]
    assert story == [
        ("prepare", "raised", "prepared", planner_user, NOW),
        ("slot", "prepared", "slotted", planner_user, NOW),
        ("start", "slotted", "under way", technician_user, NOW),
        ("finish", "under way", "finished", technician_user, NOW),
        ("accept", "finished", "accepted", lead_user, NOW),
    ]
    history = [(row.state, row.history_user, row.history_change_reason) for row in order.history.all()]
    assert history[:2] == [("accepted", lead_user, "accept"), ("finished", technician_user, "finish")]
    assert len(history) == 6


def test_the_note_is_kept_in_the_story(order: Order, planner_user: User) -> None:
    order_move(order=order, name="withdraw", by=planner_user, note="  done by the maker ")
    assert order.moves.get().note == "done by the maker"


class TestRefusals:
    def test_each_kind_has_its_class(self, order: Order, planner_user: User, technician_user: User, stranger: User) -> None:
        refused(ConflictError, order, "finish", planner_user, "that is raised cannot finish: it must be under way")
        refused(
            NotAllowedError, order, "prepare", technician_user, "A technician may not prepare an order; ask a planner or lead"
        )
        refused(NotAllowedError, order, "prepare", stranger, "no role at this site")
        assert refused(PlannerError, order, "withdraw", planner_user, "say why in a note", note=" ").field == "note"
        assert refused(PlannerError, order, "close", planner_user, "no move of an order").field == "name"

    def test_somebody_was_faster(self, order: Order, planner_user: User) -> None:
        mine, theirs = Order.objects.get(pk=order.pk), Order.objects.get(pk=order.pk)
        walk(theirs, planner_user, "prepare")
        refused(ConflictError, mine, "withdraw", planner_user, "is prepared by now, not raised: look at it again", note="why")

    def test_the_system_slots_and_unslots_and_nothing_else(self, order: Order) -> None:
        assert walk(order, None, "slot").state == "slotted"
        assert walk(order, None, "unslot").state == "prepared"
        assert list(order.moves.values_list("by", flat=True)) == [None, None]
        for name in ("prepare", "start", "withdraw", "close"):
            refused(NotAllowedError, order, name, None, "takes a person", note="why")


class TestHolds:
    def test_an_open_hold_stops_prepare_slot_and_start(self, order: Order, planner_user: User) -> None:
        hold = Hold.objects.create(order=order, kind="parts", reason="motor", since=TODAY)
        for name in ("prepare", "slot"):
            refused(ConflictError, order, name, planner_user, f"A hold is open: clear it before you {name} the order")
        refused(ConflictError, order, "slot", None, "A hold is open")
        Hold.objects.filter(pk=hold.pk).update(cleared_on=TODAY)
        walk(order, planner_user, "slot")
        Hold.objects.filter(pk=hold.pk).update(cleared_on=None)
        refused(ConflictError, order, "start", planner_user, "A hold is open")
        assert walk(order, planner_user, "unslot").state == "prepared"

    def test_one_with_an_expected_end_lets_it_into_a_plan_only(self, order: Order, planner_user: User) -> None:
        Hold.objects.create(order=order, kind="parts", reason="motor", since=TODAY, expected_until=date(2026, 6, 18))
        refused(ConflictError, order, "prepare", planner_user, "A hold is open")
        assert walk(order, planner_user, "slot").state == "slotted"
        refused(ConflictError, order, "start", planner_user, "A hold is open")


class TestFinishing:
    def test_the_day_is_the_sites_own(self, farm: Farm, planner_user: User, stranger: User) -> None:
        at = datetime(2026, 6, 10, 16, 30, tzinfo=UTC)
        for turbine, by, day in ((farm.h1, planner_user, date(2026, 6, 10)), (farm.p1, stranger, date(2026, 6, 11))):
            order = order_raise_by_hand(turbine=turbine, procedure=farm.procedures["lamp"], due_on=TODAY, by=by)
            assert walk(order, by, "prepare", "start", "finish", now=at).done_on == day

    def test_an_earlier_day_may_be_told_a_later_one_not(self, order: Order, planner_user: User) -> None:
        walk(order, planner_user, "prepare", "start")
        later = date(2026, 6, 11)
        error = refused(PlannerError, order, "finish", planner_user, "done_on 2026-06-11 has not come yet", done_on=later)
        assert error.field == "done_on"
        order_move(order=order, name="finish", by=planner_user, done_on=date(2026, 6, 8))
        assert Order.objects.get().done_on == date(2026, 6, 8)

    def test_done_on_goes_with_finish_only(self, order: Order, planner_user: User) -> None:
        assert refused(PlannerError, order, "prepare", planner_user, "leave it out", done_on=TODAY).field == "done_on"

    def test_reopening_takes_back_who_finished_and_gives_back_the_work(self, order: Order, planner_user: User) -> None:
        walk(order, planner_user, "prepare", "start", "finish", "reopen")
        assert (order.state, order.done_on, order.finished_by, order.effort_left_h) == ("under way", None, None, 10)


class TestAccepting:
    def test_not_by_who_finished(self, order: Order, planner_user: User, lead_user: User) -> None:
        walk(order, planner_user, "prepare", "start", "finish")
        refused(NotAllowedError, order, "accept", planner_user, "Who finished an order does not accept it")
        assert walk(order, lead_user, "accept").state == "accepted"

    def test_not_when_nobody_knows_who_finished(self, order: Order, planner_user: User, lead_user: User) -> None:
        walk(order, planner_user, "prepare", "start", "finish")
        Order.objects.update(finished_by=None)
        order.refresh_from_db()
        refused(ConflictError, order, "accept", lead_user, "reopen and finish it again")


class TestAtOnce:
    """Threads on a real transaction; on PostgreSQL the row lock decides, on SQLite the write lock."""

    def race(self, order: Order, moves: list[tuple[str, User]]) -> list[str]:
        ready = Barrier(len(moves), timeout=20)

        def one(move: tuple[str, User]) -> str:
            try:
                mine = Order.objects.get(pk=order.pk)
                ready.wait()
                return order_move(order=mine, name=move[0], by=move[1], note="because").state
            except ConflictError:
                return "conflict"
            finally:
                connection.close()

        with ThreadPoolExecutor(len(moves)) as pool:
            return sorted(pool.map(one, moves))

    @pytest.mark.django_db(transaction=True)
    def test_two_moves_from_one_state(self, now: datetime) -> None:
        farm = build_farm()
        planner = build_user("planner", "planner", farm.hill)
        order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner)
        answers = self.race(order, [("prepare", planner)] * 3 + [("withdraw", planner)] * 3)
        order.refresh_from_db()
        assert answers == sorted(["conflict"] * 5 + [order.state])
        assert OrderMove.objects.count() == 1

    @pytest.mark.django_db(transaction=True)
    def test_twenty_people_close_jobs_while_orders_are_raised(self, now: datetime) -> None:
        farm = build_farm()
        planner = build_user("planner", "planner", farm.hill)
        lamp = farm.procedures["lamp"]
        orders = [order_raise_by_hand(turbine=farm.h1, procedure=lamp, due_on=TODAY, by=planner) for _ in range(20)]
        Order.objects.update(state="under way")
        ready = Barrier(21, timeout=20)

        def close(order: Order) -> str:
            try:
                mine = Order.objects.get(pk=order.pk)
                ready.wait()
                return order_move(order=mine, name="finish", by=planner).state
            finally:
                connection.close()

        with ThreadPoolExecutor(20) as pool:
            answers = pool.map(close, orders)
            ready.wait()
            for number in range(20):
                order_raise_by_hand(turbine=farm.h2, procedure=lamp, due_on=TODAY, by=planner, note=str(number))
            assert list(answers) == ["finished"] * 20
        assert Order.objects.count() == 40
