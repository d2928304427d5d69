"""An order moves along its table. Every move is one conditional UPDATE, one row in its story and one in its history."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db import transaction

from planner.choices import Role
from planner.clock import now_utc, today_at
from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.services.access import require_role
from workorders.choices import State
from workorders.lifecycle import MOVES, Move, MoveRefused, check_move
from workorders.models import Order, OrderMove
from workorders.selectors.orders import open_holds_of
from workorders.services.accepting import work_accept
from workorders.services.history import history_write

SYSTEM_MOVES = ("slot", "unslot")
"""What publishing a plan does by itself."""


@transaction.atomic
def order_move(
    *, order: Order, name: str, by: Any, note: str = "", now: datetime | None = None, done_on: date | None = None
) -> Order:
    """Move the order as the caller saw it; the order comes back as it now is.

    by: None for the system, which may slot and unslot only. done_on: the local day a crew finished, default today at the site.
    Accepting is for somebody else than who finished; it writes the history that moves the due date on.
    Raises ConflictError if the order is no longer as the caller saw it, is in the wrong state or held; NotAllowedError;
    PlannerError with its field.
    """
    moment = now or now_utc()
    role = _role(order, name, by)
    seen = order.state
    fresh = Order.objects.select_for_update().get(pk=order.pk)
    if fresh.state != seen:
        raise ConflictError(f"{order} is {fresh.state} by now, not {seen}: look at it again.")
    move = _checked_move(fresh, name, role, note)
    changes = _changes(fresh, move, by, moment, done_on)
    if not Order.objects.filter(pk=order.pk, state=seen).update(state=move.target, **changes):
        raise ConflictError(f"{order} is no longer {seen}: look at it again.")
    _note(fresh, move, by, moment, note)
    fresh.refresh_from_db()
    history_write(fresh, by, name)
    if name == "accept":
        _withdraw_answered(fresh, work_accept(fresh), by, moment)
    order.refresh_from_db()  # last: refused half-way, the caller's object still says what the database says
    return order


def _note(order: Order, move: Move, by: Any, at: datetime, note: str) -> None:
    """One line in the order's story; `order` still has the state it came from."""
    OrderMove.objects.create(order=order, name=move.name, source=order.state, target=move.target, by=by, at=at, note=note.strip())


def _role(order: Order, name: str, by: Any) -> str:
    if by is not None:
        return require_role(user=by, site=order.turbine.site, roles=tuple(Role.values))
    if name not in SYSTEM_MOVES:
        raise NotAllowedError(f"To {name} an order takes a person: say who.")
    return Role.PLANNER


def _checked_move(order: Order, name: str, role: str, note: str) -> Move:
    """The move, or its refusal in the class that says what kind of refusal it is."""
    try:
        return check_move(name, order.state, role, held=_held(order, name), note=note)
    except MoveRefused as refusal:
        raise _refusal(refusal, order, MOVES.get(name), role) from refusal


def _refusal(refusal: MoveRefused, order: Order, move: Move | None, role: str) -> PlannerError:
    """What was missing first, in the order in which check_move asks."""
    if move is None:
        return PlannerError(str(refusal), field="name")
    if order.state not in move.sources:
        return ConflictError(str(refusal))
    if role not in move.roles:
        return NotAllowedError(str(refusal))
    if move.stopped_by_hold and _held(order, move.name):
        return ConflictError(str(refusal))
    return PlannerError(str(refusal), field="note")


def _held(order: Order, name: str) -> bool:
    """A hold with an expected end lets the order into a plan for the days after it; nothing else goes past an open hold."""
    holds = open_holds_of(order)
    return (holds.filter(expected_until__isnull=True) if name == "slot" else holds).exists()


def _changes(order: Order, move: Move, by: Any, now: datetime, done_on: date | None) -> dict[str, Any]:
    if done_on is not None and move.name != "finish":
        raise PlannerError(f"done_on says when a crew finished; leave it out to {move.name} an order.", field="done_on")
    if move.name == "finish":
        return {"done_on": _done_on(order, now, done_on), "finished_by": by, "effort_left_h": 0}
    if move.name == "reopen":  # how much is left nobody has said yet: the whole of it, until somebody does
        return {"done_on": None, "finished_by": None, "effort_left_h": order.procedure.effort_person_h}
    if move.name == "accept":
        _check_accepts(order, by)
    return {}


def _done_on(order: Order, now: datetime, done_on: date | None) -> date:
    today = today_at(order.turbine.site.zone, now)
    if done_on is not None and done_on > today:
        raise PlannerError(f"done_on {done_on} has not come yet at the site: give {today} or before.", field="done_on")
    return done_on or today


def _check_accepts(order: Order, by: Any) -> None:
    if order.finished_by_id is None:
        raise ConflictError(f"Nobody stands recorded as having finished {order}: reopen and finish it again.")
    if by.pk == order.finished_by_id:
        raise NotAllowedError("Who finished an order does not accept it: ask another planner or lead.")


def _withdraw_answered(order: Order, answered: list[Order], by: Any, now: datetime) -> None:
    """Orders whose due work this one did too are not done again."""
    for other in answered:
        move, note = MOVES["withdraw"], f"Done with order {order.number}."
        if Order.objects.filter(pk=other.pk, state=other.state).update(state=State.WITHDRAWN):
            _note(other, move, by, now, note)
            other.refresh_from_db()
            history_write(other, by, "withdraw")
