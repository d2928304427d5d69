"""Verdicts made wrong by hand: the checker finds each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.day.check import check
from scheduling.day.decide import decide
from scheduling.day.problem import Problem
from tests.scheduling.day.farm import ANNA, HOUR, MORNING, with_stay, with_wind

WINDY = with_wind({8: 14.0, 9: 14.0})


@pytest.mark.parametrize(
    ("problem", "change", "rule"),
    [
        (MORNING, {"verdict": "wait"}, "verdict"),
        (WINDY, {"verdict": "go", "start_min": 8 * HOUR}, "verdict"),
        (WINDY, {"start_min": 9 * HOUR}, "start"),
        (MORNING, {"first_safe_min": 6 * HOUR}, "safe starts"),
        (MORNING, {"last_safe_min": 15 * HOUR}, "safe starts"),
        (WINDY, {"chance": 0.9}, "chance"),
        (MORNING, {"must_be_down_min": 18 * HOUR, "start_down_min": 18 * HOUR - 30}, "down by"),
        (MORNING, {"must_be_down_min": 10 * HOUR, "start_down_min": 10 * HOUR - 30}, "down by"),
        (MORNING, {"start_down_min": 17 * HOUR}, "down by"),
        (MORNING, {"must_be_down_min": None, "start_down_min": None}, "down by"),
        (with_wind({13: 14.0}), {"must_be_down_min": 14 * HOUR, "start_down_min": 14 * HOUR - 30}, "down by"),
        (MORNING, {"caution": ""}, "caution"),
        (MORNING, {"reasons": ()}, "caution"),
        (with_stay(people=(ANNA,)), {"verdict": "go", "start_min": 8 * HOUR}, "verdict"),
        (replace(MORNING, issue_min=-12 * HOUR), {"verdict": "go", "start_min": 8 * HOUR}, "verdict"),
        (MORNING, {"stay": "V9"}, "complete"),
    ],
)
def test_a_wrong_verdict_is_found(problem: Problem, change: dict[str, object], rule: str) -> None:
    right = decide(problem)[0]
    assert check(problem, (right,)) == ()
    assert rule in {violation.rule for violation in check(problem, (replace(right, **change),))}


def test_a_stay_without_a_verdict_is_found() -> None:
    assert [violation.rule for violation in check(MORNING, ())] == ["complete"]
