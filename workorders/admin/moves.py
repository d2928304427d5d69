"""Moves of orders as actions of a list: each order by itself, through the one service that moves, and what it refused said."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.admin.helpers import ActionForm

from planner.errors import PlannerError
from planner.rest.caller import caller_of
from workorders.lifecycle import MOVES, Move
from workorders.services.moves import order_move

MOST_NAMED = 20
"""Refusals named one by one; the rest are counted."""


class NoteForm(ActionForm):
    """The list's action, and the note that some moves ask for."""

    note = forms.CharField(required=False, max_length=500, label="Why (for unprepare, reopen, withdraw):")


def move_actions(request: Any) -> dict[str, tuple[Callable[..., None], str, str]]:
    """The moves one of the caller's roles may make, in the form in which the admin site takes actions."""
    caller = caller_of(request)
    return {name: (_action(move), name, f"{name} the chosen orders".capitalize()) for name, move in MOVES.items()
            if caller.has_any(move.roles)}  # fmt: skip


def carry_out(request: Any, rows: Iterable[Any], done: str, act: Callable[[Any], Any]) -> None:
    """Ask a service for each row; then say for how many it was `done`, and of the others which were refused, and why."""
    count, refused = 0, []
    for row in rows:
        try:
            act(row)
            count += 1
        except PlannerError as error:
            refused.append(f"{row}: {error.message}")
    if count:
        messages.success(request, f"{count} {done}.")
    for sentence in refused[:MOST_NAMED]:
        messages.error(request, sentence)
    if len(refused) > MOST_NAMED:
        messages.error(request, f"{len(refused) - MOST_NAMED} more were refused: choose fewer to see why.")


def _action(move: Move) -> Callable[..., None]:
    def action(model_admin: Any, request: Any, queryset: Any) -> None:
        note = request.POST.get("note", "")

        def act(order: Any) -> None:
            order_move(order=order, name=move.name, by=request.user, note=note)

        carry_out(request, queryset, f"now {move.target}", act)

    action.__name__ = move.name
    return action
