"""The checker on the tiny farm: a plan by hand passes, its money is counted by hand, every rule is broken once."""

from __future__ import annotations

import ast
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from scheduling.fortnight import check as checker
from scheduling.fortnight.check import CHECKS, check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Access, Problem, Shift
from scheduling.fortnight.rules import PARTS, RULES
from tests.bench.cases import fortnight_case
from tests.scheduling.fortnight.farms import (
    ALL_DAYS,
    NONE,
    hand_plan,
    job,
    priced,
    tiny,
    with_orders,
    with_people,
    with_rules,
    with_visit,
)
from tests.scheduling.fortnight.mutate import scattered

REPAIR, SERVICE_1, CRANE, SERVICE_2 = range(4)


def broken(problem: Problem, plan: Plan) -> set[str]:
    return {violation.rule for violation in check(problem, plan)}


def test_the_plan_by_hand_breaks_nothing() -> None:
    assert check(tiny(), hand_plan()) == ()


def test_every_rule_and_part_of_the_contract_is_checked_in_its_order() -> None:
    assert list(CHECKS) == list(RULES)
    assert list(recompute_parts(tiny(), hand_plan())) == list(PARTS)


def test_the_checker_imports_only_records_bits_and_numpy() -> None:
    allowed = ("scheduling.bits", "scheduling.fortnight.plan", "scheduling.fortnight.problem", "scheduling.fortnight.check")
    standard = {
        "__future__",
        "collections",
        "collections.abc",
        "copy",
        "dataclasses",
        "datetime",
        "functools",
        "itertools",
        "math",
    }
    for path in Path(checker.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                assert name.startswith(allowed) or name in standard | {"numpy", "numpy.typing"}, (path.name, name)


@pytest.mark.parametrize(
    ("number", "changes", "rule"),
    [
        (REPAIR, {"turbine": "T9"}, "known"),
        (REPAIR, {"day": 7}, "known"),
        (REPAIR, {"vehicle": "bus"}, "known"),
        (REPAIR, {"people": ("ann", "zoe")}, "known"),
        (REPAIR, {"jobs": (job("dream", 60),)}, "known"),
        (REPAIR, {"jobs": ()}, "known"),
        (REPAIR, {"turbine": "T1"}, "known"),
        (SERVICE_1, {"jobs": (job("service", 210), job("repair", 120))}, "known"),
        (SERVICE_1, {"jobs": (job("service", 200),)}, "complete"),
        (SERVICE_1, {"jobs": (job("service", 210, 3),)}, "complete"),
        (CRANE, {"people": ("ann", "ben")}, "team size"),
        (CRANE, {"people": ("ann", "ben", "ben")}, "team size"),
        (SERVICE_2, {"people": ("ann", "dia")}, "team size"),
        (SERVICE_2, {"people": ("ann", "dia")}, "shift"),
        (REPAIR, {"people": ("ben", "cem")}, "skill"),
        (SERVICE_1, {"people": ("ann", "dia")}, "one team"),
        (SERVICE_1, {"team": 0}, "one team"),
        (SERVICE_1, {"vehicle": "van"}, "vehicle"),
        (CRANE, {"vehicle": "car"}, "vehicle"),
        (REPAIR, {"start": 0}, "shift"),
        (SERVICE_1, {"start": 12}, "shift"),
        (SERVICE_1, {"start": 13}, "stay"),
        (REPAIR, {"start": -1}, "stay"),
        (CRANE, {"slots": 7}, "stay"),
        (CRANE, {"slots": 9}, "stay"),
        (CRANE, {"start": 9}, "window"),
        (CRANE, {"chance": 1.0}, "window"),
        (CRANE, {"chance": float("nan")}, "window"),
        (CRANE, {"by": "lift"}, "access"),
        (SERVICE_1, {"start": 7}, "isolation"),
        (CRANE, {"day": 0}, "equipment"),
        (SERVICE_1, {"day": 2}, "sequence"),
    ],
)
def test_one_wrong_field_in_a_visit_is_caught_by_its_rule(number: int, changes: dict[str, Any], rule: str) -> None:
    assert rule in broken(tiny(), with_visit(tiny(), hand_plan(), number, **changes))


@pytest.mark.parametrize("name", list(PARTS))
def test_a_part_that_is_not_as_counted_is_caught(name: str) -> None:
    plan = hand_plan()
    for parts in ({**plan.parts, name: plan.parts[name] + 2}, {k: v for k, v in plan.parts.items() if k != name}):
        violations = check(tiny(), replace(plan, parts=parts))
        assert [v.rule for v in violations] == ["value"]
        assert name in violations[0].text


def test_a_part_that_there_is_not_is_caught() -> None:
    assert broken(tiny(), replace(hand_plan(), parts={**hand_plan().parts, "luck": 0})) == {"value"}


def test_left_out_lists_exactly_what_is_not_planned() -> None:
    plan = hand_plan()
    assert broken(tiny(), replace(plan, left_out=("repair",))) == {"complete"}
    assert broken(tiny(), replace(plan, left_out=("nothing",))) == {"known"}
    short = priced(tiny(), replace(plan, visits=plan.visits[:2] + plan.visits[3:]))
    assert broken(tiny(), short) == {"complete"}
    assert broken(tiny(), replace(short, left_out=("crane work",))) == set()
    assert broken(tiny(), replace(short, left_out=("crane work", "crane work"))) == {"known"}


def test_half_an_order_is_not_complete() -> None:
    plan = hand_plan()
    assert broken(tiny(), priced(tiny(), replace(plan, visits=(plan.visits[0], *plan.visits[2:])))) == {"complete"}


@pytest.mark.parametrize(
    ("people", "rules"),
    [
        ({"ben": {"fit_days": (1, 2)}}, {"team size", "certificate", "skill", "rescue"}),
        ({"ben": {"rescue_days": (1, 2)}}, {"rescue"}),
        ({"ben": {"learner": True}}, {"team size", "skill", "rescue"}),
        ({"ann": {"skills": ()}}, {"skill"}),
        ({"cem": {"week_left_min": {"2026-W10": 269 + 300 + 270}}}, {"weekly hours"}),
        ({"cem": {"week_left_min": {"2026-W10": 270 + 300 + 270}}}, set()),
        ({"dia": {"shifts": (Shift(0, 8, 20, 20),)}}, {"shift", "value"}),
        ({"dia": {"shifts": (Shift(0, 7, 16, 16),)}}, {"shift"}),
        ({"dia": {"shifts": (Shift(0, 7, 17, 16),)}}, set()),
    ],
)
def test_what_people_lack_is_caught(people: dict[str, dict[str, Any]], rules: set[str]) -> None:
    assert broken(with_people(tiny(), **people), hand_plan()) == rules


def test_a_learner_may_come_along_and_counts_for_nothing() -> None:
    problem = with_people(tiny(), dia={"learner": True})
    assert {"team size", "rescue"} <= broken(problem, hand_plan())
    four = with_visit(problem, hand_plan(), CRANE, people=("ann", "ben", "cem", "dia"))
    alone = replace(four, visits=four.visits[2:3], left_out=("service", "repair", "inspection", "feeder"))
    assert broken(problem, priced(problem, alone)) == set()


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        ({"rescue_pair": 3}, {"rescue"}),
        ({"break_after_min": 240}, {"stay"}),  # the crane work: 240 min of stay, 300 away
        ({"break_after_min": 300}, set()),
        ({"break_after_min": 299}, {"stay"}),
        ({"week_max_min": 839}, {"weekly hours"}),
        ({"rest_min": 1440 + 120 - 495}, set()),
        ({"rest_min": 1440 + 120 - 495 + 1}, {"rest"}),
        ({"climbs_a_day": 0}, {"climbs"}),
        ({"ladder_climbs_a_day": 0}, {"climbs"}),
        ({"confidence": 0.76}, {"window"}),
        ({"max_stopped": {"hill": 2}}, set()),
        ({"max_stopped": {"hill": 1}}, {"most stopped"}),
    ],
)
def test_a_tighter_number_is_kept_to_the_minute(rules: dict[str, Any], expected: set[str]) -> None:
    assert broken(with_rules(tiny(), **rules), hand_plan()) == expected


def test_a_gap_between_visits_is_the_break_only_beyond_the_hop() -> None:
    problem = with_orders(with_rules(tiny(), break_after_min=299), feeder={"stops": ("T2",)}, service={"due_day": 5})
    first, _, _, _ = hand_plan().visits
    rest_out = ("service", "crane work", "inspection")
    away_305 = [replace(first, slots=5, jobs=(job("repair", 120),)), replace(first, start=6, slots=3, jobs=(job("feeder", 60),))]
    assert broken(problem, priced(problem, Plan(tuple(away_305), rest_out))) == set()  # 290 min away
    for start, expected in ((7, set()), (6, {"break"})):
        tight = with_rules(problem, break_after_min=280)
        visits = (away_305[0], replace(away_305[1], start=start))
        assert broken(tight, priced(tight, Plan(visits, rest_out))) == expected, start


def test_two_short_gaps_are_no_break() -> None:
    problem = with_rules(tiny(), break_after_min=240, break_min=45)
    first = replace(hand_plan().visits[REPAIR], slots=5, jobs=(job("repair", 120),))
    second = replace(first, start=7, slots=3, jobs=(job("feeder", 60),))
    third = replace(first, turbine="T1", start=12, slots=3, jobs=(job("inspection", 60),))
    problem = with_orders(problem, inspection={"days": ALL_DAYS})
    for start, expected in ((11, {"break"}), (12, set())):  # 30 and 15 min beyond the hop, or 30 and 45
        visits = (first, second, replace(third, start=start))
        assert broken(problem, priced(problem, Plan(visits, ("service", "crane work")))) == expected, start


def test_a_long_stay_has_its_break_built_in() -> None:
    problem = with_rules(tiny(), break_after_min=200)
    visits = (replace(hand_plan().visits[CRANE], start=3, slots=9, chance=1.0),)
    plan = Plan(visits, ("service", "repair", "inspection", "feeder"))
    assert broken(problem, priced(problem, plan)) == set()  # 240 + 30 min of stay: 9 slots
    short = replace(plan, visits=(replace(visits[0], slots=8),))
    assert broken(problem, priced(problem, short)) == {"stay"}


def test_a_stay_whose_way_makes_the_day_long_has_it_too() -> None:
    """Six hours of stay and the road: without this, such work could go out only beside other work."""
    for limit, slots in ((300, 8), (299, 9)):  # 240 min of stay, 30 min of road each way
        problem = with_rules(tiny(), break_after_min=limit)
        visits = (replace(hand_plan().visits[CRANE], start=3, slots=slots, chance=1.0),)
        plan = Plan(visits, ("service", "repair", "inspection", "feeder"))
        assert broken(problem, priced(problem, plan)) == set(), limit


def test_two_stays_on_a_turbine_do_not_overlap() -> None:
    inspection = replace(hand_plan().visits[SERVICE_2], jobs=(job("inspection", 60),), slots=3, team=1, vehicle="van")
    problem = with_people(tiny(), dia={"shifts": (Shift(2, 0, 20, 16),)})
    second = replace(hand_plan().visits[SERVICE_2], jobs=(job("service", 300),), slots=11, people=("ann", "cem", "dia"))
    for start, expected in ((16, set()), (15, {"one team per turbine"})):
        visits = (second, replace(inspection, start=start, people=("ben", "cem")))
        found = broken(problem, priced(problem, Plan(visits, ("repair", "crane work", "feeder"))))
        assert found - {"one team", "vehicle", "shift", "window"} == expected, start


def test_an_order_that_goes_alone_does_not_ride_along() -> None:
    assert broken(with_orders(tiny(), inspection={"ride_along": False}), hand_plan()) == {"one team per turbine"}


def test_a_day_that_is_not_allowed_is_caught() -> None:
    assert broken(with_orders(tiny(), inspection={"days": (1,)}), hand_plan()) == {"day allowed"}


def test_shared_equipment_is_counted_slot_by_slot() -> None:
    problem = with_orders(tiny(), repair={"equipment": ("crane",)}, service={"equipment": ("crane",)})
    pieces = tuple(replace(piece, days=ALL_DAYS) for piece in problem.equipment)
    problem = replace(problem, equipment=pieces)
    plan = priced(problem, hand_plan())
    assert broken(problem, plan) == set()  # repair ends at slot 8, service starts at slot 8
    assert plan.parts["equipment"] == 3 * 80_000
    assert "equipment" in broken(problem, with_visit(problem, plan, SERVICE_1, start=7))


def test_sequence_counts_gaps_and_what_comes_first() -> None:
    assert broken(with_orders(tiny(), service={"max_gap_days": 1}), hand_plan()) == {"sequence"}
    assert broken(with_orders(tiny(), service={"after": ("repair",)}), hand_plan()) == set()  # ends at slot 8, starts at 8
    assert broken(with_orders(tiny(), service={"after": ("crane work",)}), hand_plan()) == {"sequence"}
    problem = with_orders(tiny(), inspection={"after": ("crane work",)})
    plan = hand_plan()
    without = replace(plan, visits=(*plan.visits[:2], plan.visits[SERVICE_2]), left_out=("crane work",))
    assert broken(problem, priced(problem, without)) == {"sequence"}


def test_pins_hold_also_against_leaving_out() -> None:
    assert broken(with_orders(tiny(), service={"pins": ((0, 0, 8), (1, 2, 5))}), hand_plan()) == set()
    assert broken(with_orders(tiny(), service={"pins": ((1, 2, 6),)}), hand_plan()) == {"pin"}
    nothing = Plan((), tuple(order.id for order in tiny().orders))
    assert broken(with_orders(tiny(), repair={"pins": ((0, 0, 1),)}), priced(tiny(), nothing)) == {"pin"}


def test_pairs_are_kept_together_and_apart() -> None:
    assert broken(replace(tiny(), apart=(("ann", "dia"),)), hand_plan()) == set()
    assert broken(replace(tiny(), apart=(("cem", "ann"),)), hand_plan()) == {"together"}
    assert broken(replace(tiny(), together=(("ann", "ben"),)), hand_plan()) == set()  # Ben is not out on Wednesday
    assert broken(replace(tiny(), together=(("ben", "cem"),)), hand_plan()) == {"together"}


def test_climbing_that_is_shut_is_open_only_to_what_opens_it() -> None:
    problem = tiny()
    shut = replace(problem.turbines[2], access=(NONE,) * 3)
    problem = replace(problem, turbines=(*problem.turbines[:2], shut))
    assert {"access", "stay"} <= broken(problem, hand_plan())
    own = {"opens_climbing": True, "access": Access("ladder", 30, 30)}
    assert broken(with_orders(problem, crane_work=own), hand_plan()) == set()
    slower = {"opens_climbing": True, "access": Access("ladder", 30, 31)}
    assert broken(with_orders(problem, crane_work=slower), hand_plan()) == {"stay"}


def test_a_violation_says_where_who_and_by_how_much() -> None:
    violation = check(with_rules(tiny(), rest_min=1100), hand_plan())[0]
    assert (violation.rule, violation.people, violation.day, violation.amount) == ("rest", ("cem",), 1, 35.0)
    assert violation.orders == ("crane work",)
    assert violation.text == "Cem rests 1065 min before 2026-03-03, 1100 are asked for"


def test_400_orders_are_checked_in_a_fifth_of_a_second() -> None:
    problem = fortnight_case("large", 1)
    assert (len(problem.turbines), len(problem.orders), len(problem.people), len(problem.days)) == (150, 400, 40, 14)
    plan = scattered(np.random.default_rng(1), problem)
    assert len(plan.visits) >= 390
    used = []
    for _ in range(3):
        began = time.process_time()
        assert check(problem, plan)  # thrown together, so it breaks many rules: the slow way through
        used.append(time.process_time() - began)
    assert min(used) <= 0.2, used
