from __future__ import annotations

import json
from dataclasses import replace

import pytest

from scheduling.day.decide import decide
from scheduling.day.problem import Limit, Measured, problem_from_json, problem_to_json, verdicts_to_json
from tests.scheduling.day.farm import ANNA, MORNING, STAY, with_stay, with_wind


def test_a_stored_morning_gives_the_same_verdicts() -> None:
    problem = replace(with_wind({3: None}), measured={"wind": (Measured(300, 9.0),)})
    again = problem_from_json(json.loads(json.dumps(problem_to_json(problem), allow_nan=False)))
    assert again == problem
    assert json.loads(json.dumps(verdicts_to_json(decide(again)), allow_nan=False))[0]["verdict"] == "go"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"date": "2026-02-31"}, "date is '2026-02-31'"),
        ({"origin": "2026-03-10T00:00:00"}, "in UTC"),
        ({"origin": "2026-03-10T00:00:00+01:00"}, "in UTC"),
        ({"origin": "today"}, "origin is 'today'"),
        ({"zone": "Nowhere/At_All"}, "zone is"),
        ({"slot_min": 0}, "slot_min and slots"),
        ({"confidence": float("nan")}, "confidence is nan"),
        ({"confidence": 80}, "confidence is 80"),
        ({"stale_after_h": 0.0}, "stale_after_h"),
        ({"min_team": 1}, "never fewer than two"),
        ({"daylight": (700, 600)}, "daylight must end"),
        ({"series": {"wind": ((8.0,) * 23,)}}, "must hold 24 slots"),
        ({"series": {"wind": ()}}, "same number of members"),
        ({"limit_sets": {"nacelle": ()}}, "names no limit"),
        ({"limit_sets": {"nacelle": (Limit("w", "wind", "=", 12.0),)}}, "needs an op"),
        ({"limit_sets": {"nacelle": (Limit("w", "wind", "<=", float("nan")),)}}, "finite value"),
        ({"limit_sets": {}}, "'nacelle' is not in limit_sets"),
        ({"measured": {"wind": (Measured(10, 1.0), Measured(10, 2.0))}}, "in order of time"),
        ({"measured": {"wind": (Measured(9999, 1.0),)}}, "lies after now"),
        ({"stays": (STAY, STAY)}, "stands twice"),
    ],
)
def test_a_faulty_morning_is_refused_with_field_and_cure(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        replace(MORNING, **change)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"by": "rope"}, "by is 'rope'"),
        ({"work_min": 0}, "work 1 or more"),
        ({"down_min": -5}, "must be 0 or more"),
        ({"shift_end_min": 0}, "the shift must end"),
        ({"people": (ANNA, ANNA)}, "stands twice in the team"),
    ],
)
def test_a_faulty_stay_is_refused(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        with_stay(**change)
