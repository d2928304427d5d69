"""The law of an order's life, tried with random people, moves, notes and holds on real rows."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import User
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import PlannerError
from tests.farm import TODAY, Farm
from tests.workorders.test_lifecycle import ALLOWED, CREW_MOVES, HELD, NOTED
from workorders.lifecycle import MOVES
from workorders.models import Hold, Order
from workorders.services.moves import order_move
from workorders.services.orders import order_raise_by_hand

PEOPLE = ("planner", "lead", "technician", "viewer", "stranger", "system")
ATTEMPTS = st.tuples(st.sampled_from([*MOVES, "hold", "clear", "close"]), st.sampled_from(PEOPLE), st.booleans())
# Random walks seldom get far: half of them begin with the crew's work done, and then walk among the last moves.
TO_FINISHED = [("prepare", "lead", False), ("start", "technician", False), ("finish", "lead", False)]
LATE = st.tuples(st.sampled_from(["accept", "reopen", "finish"]), st.sampled_from(["planner", "lead"]), st.just(True))
WALKS = st.one_of(
    st.lists(ATTEMPTS, max_size=14),
    st.lists(st.one_of(LATE, ATTEMPTS), max_size=10).map(lambda walk: TO_FINISHED + walk),
)


def may(state: str, name: str, person: str, noted: bool, held: bool, finished_by: str) -> bool:
    """Written by hand from the words of the table, apart from the code."""
    role = {"stranger": "", "system": "planner" if name in ("slot", "unslot") else ""}.get(person, person)
    fits = name in ALLOWED[state] and (role in ("planner", "lead") or (role == "technician" and name in CREW_MOVES))
    return (
        fits and (noted or name not in NOTED) and not (held and name in HELD) and not (name == "accept" and person == finished_by)
    )


@settings(max_examples=50, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(walk=WALKS)
def test_no_sequence_of_moves_leaves_the_table_and_nobody_accepts_their_own_work(
    farm: Farm,
    planner_user: User,
    lead_user: User,
    technician_user: User,
    viewer_user: User,
    stranger: User,
    walk: list[tuple[str, str, bool]],
) -> None:
    users = {user.username: user for user in (planner_user, lead_user, technician_user, viewer_user, stranger)}
    with transaction.atomic():
        order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner_user)
        held, state, finished_by = False, "raised", ""
        for name, person, noted in walk:
            if name in ("hold", "clear"):
                held = name == "hold"
                Hold.objects.filter(order=order).delete()
                if held:
                    Hold.objects.create(order=order, kind="access", reason="road", since=TODAY - timedelta(days=1))
                continue
            expected = may(state, name, person, noted, held, finished_by)
            assert moved(order, name, users.get(person), noted) is expected, f"{name} by {person}, {state}, held {held}"
            if expected:
                state = ALLOWED[state][name]
                finished_by = {"finish": person, "reopen": ""}.get(name, finished_by)
            assert Order.objects.get(pk=order.pk).state == order.state == state
        check_story(order)
        transaction.set_rollback(True)


def moved(order: Order, name: str, by: User | None, noted: bool) -> bool:
    """Whether the move went through."""
    try:
        order_move(order=order, name=name, by=by, note="because" if noted else "")
    except PlannerError:
        return False
    return True


def check_story(order: Order) -> None:
    """The story is a chain from raised to the order's state, and who accepted is not who finished last."""
    moves = list(order.moves.order_by("pk"))
    states = ["raised", *(move.target for move in moves)]
    assert [move.source for move in moves] == states[:-1]
    assert order.state == states[-1]
    if order.state == "accepted":
        finisher = [move.by for move in moves if move.name == "finish"][-1]
        assert order.finished_by == finisher
        assert moves[-1].by not in (None, finisher)
