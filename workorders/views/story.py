"""An order's story: every move, and every change of its row in between, oldest first."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from planner.views.formats import moment
from workorders.models import Order

WATCHED = {
    "due_on": "due date",
    "opens_on": "first day",
    "closes_on": "end of tolerance",
    "effort_left_h": "work left (h)",
    "note": "note",
    "klass": "class",
}
"""Fields whose change is told; the state is told by its moves."""


def story(order: Order, zone: ZoneInfo) -> list[dict[str, str]]:
    """When, who and what, in the site's time."""
    told = [*_changes(order), *_moves(order)]
    return [{"when": moment(at, zone), "who": who, "what": what} for at, who, what in sorted(told, key=lambda one: one[0])]


def _moves(order: Order) -> list[tuple[datetime, str, str]]:
    return [
        (move.at, _name(move.by), f"{move.source or 'new'} to {move.target}" + (f": {move.note}" if move.note else ""))
        for move in order.moves.select_related("by")
    ]


def _changes(order: Order) -> list[tuple[datetime, str, str]]:
    rows = list(order.history.select_related("history_user").order_by("history_date", "history_id"))
    told = [(rows[0].history_date, _name(rows[0].history_user), f"raised ({order.get_origin_display()})")] if rows else []
    for before, after in pairwise(rows):
        what = [
            f"{label} {_said(getattr(before, field))} to {_said(getattr(after, field))}"
            for field, label in WATCHED.items()
            if getattr(before, field) != getattr(after, field)
        ]
        if what:
            told.append((after.history_date, _name(after.history_user), "; ".join(what)))
    return told


def _said(value: Any) -> str:
    return "none" if value in (None, "") else f"{value:g}" if isinstance(value, float) else str(value)


def _name(user: Any) -> str:
    return user.get_username() if user else "Lull"
