"""Laws of changes, over many draws: nothing changes nothing, the list's order never matters, the result is valid."""

from __future__ import annotations

import random
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.fortnight.changes import KINDS, Change, already_so, apply, changes_from_json, changes_to_json
from scheduling.fortnight.problem import problem_from_json, problem_to_json
from scheduling.fortnight.validate import validate
from tests.scheduling.fortnight.changes import samples


def test_no_change_gives_the_same_problem() -> None:
    assert apply(samples.farm(), (), samples.register()) == samples.farm()


@given(samples.many)
def test_the_result_is_valid_and_can_be_stored(changes: tuple[Change, ...]) -> None:
    changed = apply(samples.farm(), changes, samples.register_for(changes))
    validate(changed)
    assert problem_from_json(problem_to_json(changed)) == changed


@given(samples.many, st.integers(0, 2**16))
def test_the_order_of_the_list_does_not_matter(changes: tuple[Change, ...], seed: int) -> None:
    shuffled = list(changes)
    random.Random(seed).shuffle(shuffled)
    register = samples.register_for(changes)
    assert apply(samples.farm(), shuffled, register) == apply(samples.farm(), changes, register)


@given(samples.many)
def test_the_given_problem_is_left_alone(changes: tuple[Change, ...]) -> None:
    problem = samples.farm()
    apply(problem, changes, samples.register_for(changes))
    assert problem == samples.farm()


@given(samples.many)
def test_lists_go_to_json_and_back(changes: tuple[Change, ...]) -> None:
    assert changes_from_json(changes_to_json(changes)) == changes


@given(samples.many)
def test_what_a_change_made_is_so_in_what_it_made(changes: tuple[Change, ...]) -> None:
    changed = apply(samples.farm(), changes, samples.register_for(changes))
    assert all(already_so(changed, changed, change) for change in changes)


@given(samples.many)
def test_what_protects_lives_stands(changes: tuple[Change, ...]) -> None:
    """Rules, certificates and statutory dates of whoever was there before are as they were, whatever is asked."""
    before, after = samples.farm(), apply(samples.farm(), changes, samples.register_for(changes))
    free = {"confidence", "max_stopped"}
    for name in {field.name for field in fields(before.rules)} - free:
        assert getattr(after.rules, name) == getattr(before.rules, name), name
    held = {one.id: (one.fit_days, one.rescue_days, one.skills, one.learner, one.week_left_min) for one in after.people}
    assert all(held[p.id] == (p.fit_days, p.rescue_days, p.skills, p.learner, p.week_left_min) for p in before.people)
    assert after.turbines == before.turbines
    due = {one.id: one.due_day for one in after.orders}
    assert due["inspection"] == next(one.due_day for one in before.orders if one.id == "inspection")
    assert all(mode.team >= before.rules.min_team for order in after.orders for mode in order.modes)


def test_there_is_a_sample_of_every_kind() -> None:
    assert {one.kind for one in samples.ONE_OF_EACH} == set(KINDS)


@pytest.mark.parametrize("change", samples.ONE_OF_EACH, ids=lambda one: one.kind)
def test_each_kind_says_itself_and_changes_something(change: Change) -> None:
    problem = samples.farm()
    changed = apply(problem, (change,), samples.register_for((change,)))
    assert len(change.said(problem)) > 5
    same = change.kind in ("order mode", "pin lifted")  # crane work has one mode, service no pin
    assert (changed == problem) == same
    if not same and change.kind not in ("left out by hand", "allowed days"):  # fewer days stand against no register
        assert not already_so(problem, changed, change)
