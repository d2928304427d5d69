from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.day.measured import measured_stop, passes
from scheduling.day.problem import Measured
from tests.scheduling.day.farm import MORNING, STAY, WIND


@pytest.mark.parametrize(
    ("readings", "earliest"),
    [
        ((), None),
        (((350, 11.9),), None),
        (((350, 12.0),), None),
        (((350, 12.1),), 380),
        (((300, 12.1), (350, 8.0)), 370),
        (((300, 12.1), (335, 8.0)), None),
        (((300, 12.1), (340, 8.0)), None),
        (((300, 12.1), (341, 8.0)), 361),
        (((341, 8.0), (345, 12.1), (350, 8.0)), 370),
        (((350, None),), 380),
        (((350, float("nan")),), 380),
    ],
)
def test_earliest_start_after_readings(readings: tuple[tuple[int, float | None], ...], earliest: int | None) -> None:
    """Now is minute 360, back up after 20 min within the limit."""
    problem = replace(MORNING, measured={"wind": tuple(Measured(at, value) for at, value in readings)})
    assert measured_stop(problem, STAY)[0] == earliest


def test_readings_of_what_the_work_is_not_limited_by_do_not_matter() -> None:
    assert measured_stop(replace(MORNING, measured={"waves": (Measured(350, 99.0),)}), STAY) == (None, None)


@pytest.mark.parametrize(("op", "at_the_limit"), [("<=", True), ("<", False), (">=", True), (">", False)])
def test_a_reading_at_the_limit(op: str, at_the_limit: bool) -> None:
    assert passes(replace(WIND, op=op), 12.0) is at_the_limit
    assert passes(replace(WIND, op=op), None) is False
    assert passes(replace(WIND, op=op), float("nan")) is False
