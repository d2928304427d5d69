"""The table of moves, held against one written by hand, and the law that no walk leaves it."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.choices import Role
from workorders.choices import State
from workorders.lifecycle import MOVES, MoveRefused, check_move, moves_from

ALLOWED = {
    "raised": {"prepare": "prepared", "slot": "slotted", "withdraw": "withdrawn"},
    "prepared": {"unprepare": "raised", "slot": "slotted", "start": "under way", "withdraw": "withdrawn"},
    "slotted": {"unslot": "prepared", "start": "under way", "withdraw": "withdrawn"},
    "under way": {"finish": "finished"},
    "finished": {"reopen": "under way", "accept": "accepted"},
    "accepted": {},
    "withdrawn": {},
}
CREW_MOVES = {"start", "finish"}
NOTED = {"unprepare", "reopen", "withdraw"}
HELD = {"prepare", "slot", "start"}


def test_the_table_names_every_state_and_only_those() -> None:
    assert set(ALLOWED) == set(State.values)
    assert {move.target for move in MOVES.values()} | {"raised"} == set(State.values)


@pytest.mark.parametrize(("state", "name"), list(itertools.product(ALLOWED, MOVES)))
def test_each_move_from_each_state(state: str, name: str) -> None:
    if name in ALLOWED[state]:
        assert check_move(name, state, "planner", note="because").target == ALLOWED[state][name]
    else:
        with pytest.raises(MoveRefused, match=f"An order that is {state} cannot {name}: it must be"):
            check_move(name, state, "planner", note="because")


@pytest.mark.parametrize(("role", "name"), list(itertools.product([*Role.values, ""], MOVES)))
def test_each_move_by_each_role(role: str, name: str) -> None:
    state = MOVES[name].sources[0]
    may = role in ("planner", "lead") or (role == "technician" and name in CREW_MOVES)
    assert (name in moves_from(state, role)) is may
    if not may:
        with pytest.raises(MoveRefused, match=r"may not .* an order; ask a"):
            check_move(name, state, role, note="because")


@pytest.mark.parametrize("name", MOVES)
def test_notes_and_holds(name: str) -> None:
    state = MOVES[name].sources[0]
    for asked, facts in ((NOTED, {"note": "  "}), (HELD, {"held": True, "note": "because"})):
        if name in asked:
            with pytest.raises(MoveRefused, match=r"say why in a note|A hold is open: clear it before"):
                check_move(name, state, "planner", **facts)
        else:
            check_move(name, state, "planner", **({"note": "because"} | facts if name in NOTED else facts))


def test_an_unknown_move_is_refused_with_the_known_ones() -> None:
    with pytest.raises(MoveRefused, match="'close' is no move of an order; known are prepare, unprepare, slot"):
        check_move("close", "raised", "planner")


@given(st.lists(st.tuples(st.sampled_from([*MOVES, "close", ""]), st.sampled_from(Role.values), st.booleans()), max_size=20))
def test_no_walk_leaves_the_table(walk: list[tuple[str, str, bool]]) -> None:
    state = "raised"
    for name, role, held in walk:
        try:
            target = check_move(name, state, role, held=held, note="because").target
        except MoveRefused:
            continue
        assert ALLOWED[state][name] == target
        assert not (held and name in HELD)
        state = target
    assert state in ALLOWED
