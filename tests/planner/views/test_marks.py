"""Every state has a shape of its own among its kind."""

from __future__ import annotations

import pytest

from planner import due
from planner.views.marks import SHAPES, mark
from scheduling.choices import PlanState, RunState, Verdict
from workorders.choices import State


@pytest.mark.parametrize("states", [due.STATES, State.values, Verdict.values, PlanState.values])
def test_states_of_a_kind_differ_in_shape(states: list[str]) -> None:
    shapes = [SHAPES[state] for state in states]
    assert len(set(shapes)) == len(shapes)


def test_every_state_of_a_run_has_a_shape() -> None:
    assert set(RunState.values) <= set(SHAPES)


def test_the_word_always_stands_beside_the_shape() -> None:
    assert mark("under way") == {"word": "under way", "shape": "◩", "tint": "under-way"}
