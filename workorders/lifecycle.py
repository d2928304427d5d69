"""The table of allowed moves of an order: pure, no Django.

States: raised (somebody asks), prepared (parts, permits and people's needs are clear), slotted (in a published plan), under way,
finished (crew is done), accepted (checked by somebody else; moves the due date on), withdrawn.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Move:
    """One allowed move: from any of `sources` to `target`, by one of `roles`; `note` is asked for where True."""

    name: str
    sources: tuple[str, ...]
    target: str
    roles: tuple[str, ...]
    note: bool = False
    stopped_by_hold: bool = False


PLANNING = ("planner", "lead")
CREW = ("planner", "lead", "technician")

MOVES: dict[str, Move] = {
    move.name: move
    for move in (
        Move("prepare", ("raised",), "prepared", PLANNING, stopped_by_hold=True),
        Move("unprepare", ("prepared",), "raised", PLANNING, note=True),
        Move("slot", ("prepared", "raised"), "slotted", PLANNING, stopped_by_hold=True),
        Move("unslot", ("slotted",), "prepared", PLANNING),
        Move("start", ("slotted", "prepared"), "under way", CREW, stopped_by_hold=True),
        Move("finish", ("under way",), "finished", CREW),
        Move("reopen", ("finished",), "under way", PLANNING, note=True),
        Move("accept", ("finished",), "accepted", PLANNING),
        Move("withdraw", ("raised", "prepared", "slotted"), "withdrawn", PLANNING, note=True),
    )
}


class MoveRefused(ValueError):
    """The move is not allowed from this state, for this role, or without a note."""


def check_move(name: str, state: str, role: str, *, held: bool = False, note: str = "") -> Move:
    """The move `name`, if an order in `state` may make it.

    Raises MoveRefused with one sentence that says what is missing.
    """
    move = MOVES.get(name)
    if move is None:
        raise MoveRefused(f"{name!r} is no move of an order; known are {', '.join(MOVES)}.")
    if state not in move.sources:
        raise MoveRefused(f"An order that is {state} cannot {name}: it must be {' or '.join(move.sources)}.")
    if role not in move.roles:
        raise MoveRefused(f"A {role or 'person without a role'} may not {name} an order; ask a {' or '.join(move.roles)}.")
    if held and move.stopped_by_hold:
        raise MoveRefused(f"A hold is open: clear it before you {name} the order.")
    if move.note and not note.strip():
        raise MoveRefused(f"To {name} an order, say why in a note.")
    return move


def moves_from(state: str, role: str) -> tuple[str, ...]:
    """Names of the moves that `role` may make from `state`, in the table's order."""
    return tuple(move.name for move in MOVES.values() if state in move.sources and role in move.roles)
