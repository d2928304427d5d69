"""Rounds made wrong by hand: the checker names the rule, the item and by how much."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.year.check import check, recomputed_parts
from scheduling.year.plan import Placement, Plan
from scheduling.year.problem import EVERYBODY, Equipment, Problem, Rules
from scheduling.year.rules import PARTS, RULES
from tests.scheduling.year.farm import TINY, laid, service, with_items

CRANE = (Equipment("crane", (2, 3), 1),)
CRANED = with_items(service("T1", equipment=("crane",)), service("T2", equipment=("crane",)), equipment=CRANE)
ABSORBING = with_items(service("T1", absorbs=("T1 small",)), service("T1", id="T1 small", opens=2, due=3))
BOTH = {"T1 service": 3, "T2 service": 3}
FULL = with_items(*(service("T1", id=f"pinned {n}", pinned=3, effort_person_h=60.0) for n in range(2)), service("T2"))
PINNED = {"pinned 0": 3, "pinned 1": 3}


@pytest.mark.parametrize(
    ("problem", "plan", "rule", "amount"),
    [
        (with_items(service("T1", opens=1)), {"T1 service": 0}, "week allowed", 0),
        (with_items(service("T1", weeks=(0, 2))), {"T1 service": 1}, "week allowed", 0),
        (with_items(service("T1", statutory=True, closes=3)), {"T1 service": 5}, "statutory", 2),
        (with_items(service("T1", pinned=2)), {"T1 service": 3}, "pin", 0),
        (with_items(service("T1", pinned=2)), {}, "pin", 0),
        (CRANED, BOTH, "equipment", 1),
        (CRANED, {"T1 service": 4}, "equipment", 1),
        (replace(TINY, rules=Rules(1.0, {"north": 1})), BOTH, "most down", 1),
        (TINY, {"T1 service": 0, "T2 service": 0}, "fit", 2),
        (FULL, PINNED | {"T2 service": 3}, "fit", 2),
    ],
)
def test_a_broken_rule_is_found(problem: Problem, plan: dict[str, int], rule: str, amount: float) -> None:
    found = check(problem, laid(problem, plan))
    assert [violation.rule for violation in found] == [rule]
    assert found[0].amount == amount
    assert rule in RULES


@pytest.mark.parametrize(
    ("problem", "plan"),
    [
        (TINY, BOTH),
        (TINY, {}),
        (CRANED, {"T1 service": 2, "T2 service": 3}),
        (FULL, PINNED),
        (with_items(service("T1", statutory=True, opens=-9, due=-5, closes=-1)), {"T1 service": 5}),
    ],
)
def test_a_right_round_passes(problem: Problem, plan: dict[str, int]) -> None:
    assert check(problem, laid(problem, plan)) == ()


def test_absorbing() -> None:
    with_it = {"T1 small": "T1 service"}
    assert check(ABSORBING, laid(ABSORBING, {"T1 service": 3, "T1 small": 3}, with_it)) == ()
    apart = laid(ABSORBING, {"T1 service": 4, "T1 small": 3}, with_it)
    assert [v.rule for v in check(ABSORBING, apart)] == ["absorb"]
    wrong_way = laid(ABSORBING, {"T1 service": 3, "T1 small": 3}, {"T1 service": "T1 small"})
    assert [v.rule for v in check(ABSORBING, wrong_way)] == ["absorb"]
    too_soon = laid(ABSORBING, {"T1 service": 1, "T1 small": 1}, with_it)
    assert [v.rule for v in check(ABSORBING, too_soon)] == ["week allowed"]


@pytest.mark.parametrize(
    "plan",
    [
        Plan((Placement("nobody", 3),), ()),
        Plan((Placement("T1 service", 3), Placement("T1 service", 4)), ("T2 service",)),
        Plan((Placement("T1 service", 3),), ("T1 service", "T2 service")),
        Plan((Placement("T1 service", 6),), ("T2 service",)),
        Plan((Placement("T1 service", 3, "nobody"),), ("T2 service",)),
    ],
)
def test_unknown_and_doubled_names(plan: Plan) -> None:
    assert {violation.rule for violation in check(TINY, plan)} == {"known"}


def test_what_is_neither_placed_nor_left_out() -> None:
    plan = Plan((Placement("T1 service", 3),), ())
    found = check(TINY, replace(plan, parts=recomputed_parts(TINY, plan)))
    assert [(violation.rule, violation.items) for violation in found] == [("complete", ("T2 service",))]


def test_a_part_that_is_not_the_recomputed_one() -> None:
    plan = laid(TINY, BOTH)
    wrong = replace(plan, parts=plan.parts | {"lost energy": plan.parts["lost energy"] - 500})
    assert [(violation.rule, violation.amount) for violation in check(TINY, wrong)] == [("value", 500)]
    assert [violation.rule for violation in check(TINY, replace(plan, parts={}))] == ["value"] * 2


def test_parts_by_hand() -> None:
    """Week 2: 10 MWh at 50.00 each, one week late at 10.00 each; one left out of three."""
    problem = with_items(service("T1"), service("T2", previous=4, move_cost=300), service("T2", id="T2 other", left_out_cost=70))
    parts = laid(problem, {"T1 service": 2, "T2 service": 2}).parts
    assert parts == dict.fromkeys((name for name in PARTS if name != "away from due"), 0) | {
        "lost energy": 100_000,
        "lateness": 2_000,
        "left out": 70,
        "change": 300,
    }


def test_calm_hours_go_to_the_work_that_needs_them() -> None:
    """Of 100 person-hours 40 are calm enough for the rope: 40 hours of rope and 60 of other work fit, 41 and 59 do not."""
    shares = {"climb": ((1.0,) * 6,) * 2, "rope": ((0.4,) * 6,) * 2}
    for rope, other, fits in ((40.0, 60.0, True), (41.0, 59.0, False), (40.0, 61.0, False)):
        items = (service("T1", limit="rope", effort_person_h=rope), service("T2", effort_person_h=other))
        problem = with_items(*items, workable_share=shares)
        found = check(problem, laid(problem, BOTH))
        assert [violation.rule for violation in found] == ([] if fits else ["fit"])


def test_a_week_without_people_takes_nothing() -> None:
    weeks = (replace(TINY.weeks[0], capacity_h={}), *TINY.weeks[1:])
    problem = replace(TINY, weeks=weeks, items=(service("T1", effort_person_h=1.0),))
    assert [violation.rule for violation in check(problem, laid(problem, {"T1 service": 0}))] == ["fit"]
    assert weeks[1].capacity_h[EVERYBODY] == 100.0
