"""The evaluator against hand counts: a tiny instance, and one mutation for each rule."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.bench.teams2007.evaluate import Plan, Visit, value, violations
from tests.bench.teams2007.reader import Instance, Job, Technician

# Two domains of two levels. Job 2 waits for 1, job 4 for 3. Technician 2 is absent on day 2.
JOBS = (
    Job(1, 60, (), 1, 10, ((1, 0), (0, 0))),
    Job(2, 60, (1,), 2, 10, ((2, 1), (0, 0))),
    Job(3, 120, (), 3, 20, ((0, 0), (1, 1))),
    Job(4, 30, (3,), 4, 5, ((0, 0), (1, 0))),
)
PEOPLE = (Technician(1, (2, 0), frozenset()), Technician(2, (1, 1), frozenset({2})), Technician(3, (0, 2), frozenset()))
TINY = Instance("tiny", 2, 2, 25, JOBS, PEOPLE)
PAIR, EXPERT = frozenset({1, 2}), frozenset({3})
GOOD = Plan((Visit(1, 1, 0, PAIR), Visit(2, 1, 60, PAIR), Visit(3, 1, 0, EXPERT), Visit(4, 2, 0, EXPERT)))


def moved(job: int, **changes: object) -> Plan:
    return Plan(tuple(replace(v, **changes) if v.job == job else v for v in GOOD.visits), GOOD.outsourced)


def test_a_good_plan_and_its_value_by_hand() -> None:
    assert violations(TINY, GOOD) == []
    # C1 = 60, C2 = 120, C3 = 120, C = 120 + 30.
    assert value(TINY, GOOD) == 28 * 60 + 14 * 120 + 4 * 120 + 150 == 3990


def test_what_is_given_to_others_does_not_count() -> None:
    plan = Plan(GOOD.visits[:2], frozenset({3, 4}))
    assert violations(TINY, plan) == []
    assert value(TINY, plan) == 28 * 60 + 14 * 120 + 120 == 3480


def test_nothing_done_ends_at_nothing() -> None:
    assert value(TINY, Plan((), frozenset({1, 2, 3, 4}))) == 0


@pytest.mark.parametrize(
    ("plan", "sentence"),
    [
        (Plan(GOOD.visits[:3]), "job 4 is done 0 times"),
        (Plan(GOOD.visits, frozenset({4})), "job 4 is done 2 times"),
        (Plan((*GOOD.visits, Visit(9, 3, 0, PAIR))), "job 9 does not exist"),
        (Plan(GOOD.visits, frozenset({7})), "job 7 does not exist"),
        (moved(4, day=2, start=100), "job 4 is not inside a day"),
        (moved(4, start=-5), "job 4 is not inside a day"),
        (moved(1, day=0), "job 1 is not inside a day"),
        (moved(2, day=2, start=0), "technician 2 of job 2 is absent on day 2"),
        (moved(4, people=frozenset()), "job 4 has nobody"),
        (moved(4, people=frozenset({3, 8})), "technician 8 of job 4 does not exist"),
        (moved(2, people=frozenset({1})), "job 2 has 1 people of level 1 in domain 1, it needs 2"),
        (moved(3, people=frozenset({2})), "job 3 has 0 people of level 2 in domain 2, it needs 1"),
        (moved(1, people=frozenset({1})), "technician 1 is in 2 teams on day 1"),
        (moved(2, start=45), "jobs 1 and 2 of one team overlap"),
        (moved(1, start=45), "job 2 starts before job 1 has ended"),
        (moved(4, day=1, start=0, people=frozenset({3})), "job 4 starts before job 3 has ended"),
        (Plan(GOOD.visits[:2], frozenset({3, 4, 1})), "jobs given to others cost 35, the budget is 25"),
        (Plan((*GOOD.visits[:2], GOOD.visits[3]), frozenset({3})), "job 4 waits for a job given to others and is not"),
    ],
)
def test_each_broken_rule_is_named(plan: Plan, sentence: str) -> None:
    assert sentence in violations(TINY, plan)


def test_two_levels_count_people_of_at_least_that_level() -> None:
    """A level-2 person also counts at level 1; two people of level 1 do not make one of level 2."""
    job = replace(JOBS[0], needs=((2, 1), (0, 0)))
    both = replace(TINY, jobs=(job,))
    assert violations(both, Plan((Visit(1, 1, 0, PAIR),))) == []
    low = replace(both, people=(Technician(1, (1, 0), frozenset()), PEOPLE[1], PEOPLE[2]))
    assert violations(low, Plan((Visit(1, 1, 0, PAIR),))) == ["job 1 has 0 people of level 2 in domain 1, it needs 1"]


def test_a_team_may_wait_and_others_may_follow_on_the_same_day() -> None:
    """A successor of another team may start the moment its predecessor ends."""
    jobs = (JOBS[0], Job(2, 60, (1,), 2, 10, ((0, 0), (1, 0))))
    plan = Plan((Visit(1, 1, 0, frozenset({1})), Visit(2, 1, 60, EXPERT)))
    assert violations(replace(TINY, jobs=jobs), plan) == []
