"""Laws that hold for every morning, on random small ones; and the second pair of eyes finds nothing to say."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.day.check import check
from scheduling.day.decide import decide
from scheduling.day.problem import Gate, Limit, Measured, Person, Problem, Stay

RANK = {"no-go": 0, "wait": 1, "go": 2}
SLOTS, SLOT_MIN = 12, 30
WINDS = st.one_of(st.none(), st.sampled_from([4.0, 9.0, 11.9, 12.0, 12.1, 18.0]), st.just(float("nan")))


@st.composite
def mornings(draw: st.DrawFn) -> Problem:
    """Mornings of twelve half hours with one stay, wind and sometimes visibility."""
    members = draw(st.integers(1, 4))
    row = st.lists(WINDS, min_size=SLOTS, max_size=SLOTS).map(tuple)
    calm = st.just((8.0,) * SLOTS)
    rows = tuple(draw(st.one_of(calm, row)) for _ in range(members))
    now = draw(st.integers(-30, 200))
    readings = tuple(Measured(now - 10 * k, draw(WINDS)) for k in reversed(range(draw(st.integers(0, 4)))))
    limits = (Limit("wind", "wind", draw(st.sampled_from(["<=", "<"])), 12.0),)
    series = {"wind": rows}
    if draw(st.booleans()):
        limits = (*limits, Limit("visibility", "visibility", ">=", 1000.0, "m"))
        series["visibility"] = tuple((draw(st.sampled_from([500.0, 1000.0, None, 9000.0])),) * SLOTS for _ in range(members))
    person = st.builds(Person, st.just(""), st.sampled_from([True, True, True, False]), st.sampled_from([True, True, False]))
    people = tuple(replace(draw(person), name=f"P{k}") for k in range(draw(st.integers(1, 3))))
    start = draw(st.integers(0, 200))
    stay = Stay(
        "V", "A", "T", "", draw(st.sampled_from(["lift", "ladder"])), draw(st.integers(0, 40)), draw(st.integers(1, 90)), 5, 10,
        start, draw(st.integers(-60, 60)), draw(st.integers(150, 400)), "set", people, ("entry", "climbing"),
        (Gate("lift inspection", "lift", draw(st.booleans())),), draw(st.booleans()),
    )  # fmt: skip
    return Problem(
        "2026-03-10", "Europe/Berlin", "2026-03-10T06:00:00+00:00", SLOT_MIN, SLOTS, now,
        draw(st.one_of(st.none(), st.integers(now - 900, now))), series, {"set": limits}, (stay,), {"wind": readings},
        draw(st.one_of(st.none(), st.tuples(st.integers(0, 100), st.integers(200, 400)))), draw(st.sampled_from([0.5, 0.8, 1.0])),
    )  # fmt: skip


def rank(problem: Problem) -> int:
    return RANK[decide(problem)[0].verdict]


@settings(max_examples=300, deadline=None)
@given(mornings())
def test_the_second_pair_of_eyes_agrees(problem: Problem) -> None:
    assert check(problem, decide(problem)) == ()


@settings(max_examples=150, deadline=None)
@given(mornings(), st.floats(0.0, 10.0))
def test_a_higher_limit_never_makes_a_verdict_worse(problem: Problem, more: float) -> None:
    wind, *others = problem.limit_sets["set"]
    raised = replace(problem, limit_sets={"set": (replace(wind, value=wind.value + more), *others)})
    assert rank(raised) >= rank(problem)


@settings(max_examples=150, deadline=None)
@given(mornings(), st.integers(1, 2000))
def test_an_older_forecast_never_makes_a_verdict_better(problem: Problem, minutes: int) -> None:
    older = replace(problem, issue_min=None if problem.issue_min is None else problem.issue_min - minutes)
    assert rank(older) <= rank(problem)


@settings(max_examples=150, deadline=None)
@given(mornings(), st.integers(0, SLOTS - 1))
def test_an_unknown_slot_never_makes_a_verdict_better(problem: Problem, slot: int) -> None:
    gone = tuple(tuple(None if n == slot else v for n, v in enumerate(row)) for row in problem.series["wind"])
    assert rank(replace(problem, series=problem.series | {"wind": gone})) <= rank(problem)


@settings(max_examples=150, deadline=None)
@given(mornings())
def test_asking_for_more_confidence_never_makes_a_verdict_better(problem: Problem) -> None:
    assert rank(replace(problem, confidence=1.0)) <= rank(problem)


@settings(max_examples=150, deadline=None)
@given(mornings())
def test_go_keeps_every_promise_it_makes(problem: Problem) -> None:
    verdict, stay = decide(problem)[0], problem.stays[0]
    if verdict.verdict != "go":
        return
    assert verdict.start_min is not None
    assert verdict.must_be_down_min is not None
    assert verdict.start_min >= problem.now_min
    assert verdict.start_min + stay.minutes <= verdict.must_be_down_min <= stay.shift_end_min
    assert verdict.chance >= problem.confidence
    assert all(person.fit for person in stay.people)
    assert len(stay.people) >= 2
    assert problem.issue_min is not None
    assert problem.now_min - problem.issue_min <= 12 * 60
