"""The fortnight's problem: what it refuses, in whose words, and its way to JSON and back."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from scheduling.fortnight.plan import plan_from_json, plan_to_json
from scheduling.fortnight.problem import (
    Access,
    Equipment,
    Mode,
    Need,
    Problem,
    PublishedVisit,
    Shift,
    Vehicle,
    problem_from_json,
    problem_to_json,
)
from tests.bench.cases import fortnight_case, random_small
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders, with_people, with_rules

Build = Callable[[], Problem]


def days(number: int, **changes: Any) -> Problem:
    days = tiny().days
    return replace(tiny(), days=(*days[:number], replace(days[number], **changes), *days[number + 1 :]))


def turbine(**changes: Any) -> Problem:
    return replace(tiny(), turbines=(replace(tiny().turbines[0], **changes), *tiny().turbines[1:]))


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (lambda: replace(tiny(), slot_min=0), "slot_min and speed_kmh must be above 0"),
        (lambda: replace(tiny(), speed_kmh=0.0), "slot_min and speed_kmh must be above 0"),
        (lambda: replace(tiny(), hop_fixed_min=-1), "hop_fixed_min 0 or more"),
        (lambda: days(1, slots=0), r"days\[1\].slots is 0: a day needs at least one slot"),
        (lambda: days(1, first_slot=19), r"days\[1\].first_slot is 19, expected 20"),
        (lambda: days(1, start_min=420), r"days\[1\].start_min lies before the end of the day before it"),
        (lambda: replace(tiny(), vehicles=(Vehicle("van", 4), Vehicle("van", 2))), "vehicles: id 'van' stands twice"),
        (lambda: replace(tiny(), orders=tiny().orders + tiny().orders[:1]), "orders: id 'service' stands twice"),
        (lambda: turbine(access=()), "turbine T1: access has 0 entries for 3 days"),
        (lambda: turbine(access=(Access("rope", 5, 5),) * 3), "turbine T1: access must be lift, ladder or none"),
        (lambda: turbine(access=(Access("lift", -5, 5),) * 3), "minutes of 0 or more"),
        (lambda: turbine(site="moon"), "turbine T1: no price_cents and night_cents for site 'moon'"),
        (lambda: turbine(energy="big"), "turbine T1: no stop_mwh and night_mwh for energy 'big'"),
        (lambda: with_people(tiny(), ann={"shifts": (Shift(0, 4, 30, 16),)}), "person ann: shift on day 0 must lie inside"),
        (lambda: with_people(tiny(), ann={"shifts": (Shift(9, 4, 8, 8),)}), "person ann: shift on day 9 must lie inside"),
        (lambda: with_people(tiny(), ann={"shifts": (Shift(0, 0, 4, 4), Shift(0, 6, 9, 9))}), "two shifts on one day; join them"),
        (lambda: with_people(tiny(), ann={"fit_days": (3,)}), "person ann: fit_days, rescue_days and skills name a day outside"),
        (lambda: replace(tiny(), together=(("ann", "zoe"),)), "must name two different known people"),
        (lambda: replace(tiny(), apart=(("ann", "ann"),)), "must name two different known people"),
        (
            lambda: replace(tiny(), equipment=(Equipment("crane", "crane", 0, (1,)),)),
            "equipment crane: capacity must be 1 or more",
        ),
        (
            lambda: replace(tiny(), equipment=(Equipment("crane", "crane", 1, (1,), mobilise_cost=-1),)),
            "equipment crane: day_cost and mobilise_cost must be between 0 and 536870912 cents",
        ),
        (lambda: with_orders(tiny(), repair={"also": ("gale",)}), "order repair: also names 'gale', which is not in workable"),
        (lambda: with_orders(tiny(), repair={"after_gap_min": -1}), "order repair: after_gap_min must be 0 or more minutes"),
        (lambda: replace(tiny(), day_weight=(1.0, 0.5)), "day_weight has 2 values for 3 days; give one a day"),
        (lambda: replace(tiny(), day_weight=(1.0, float("nan"), 0.5)), r"day_weight\[1\] is nan: give a share between 0 and 1"),
        (lambda: with_orders(tiny(), repair={"turbine": "T9"}), "order repair: turbine 'T9' is not in the problem"),
        (
            lambda: with_orders(tiny(), repair={"stops": ("T1",)}),
            "order repair: stops must name known turbines, its own among them",
        ),
        (
            lambda: with_orders(tiny(), repair={"equipment": ("boat",)}),
            r"order repair: equipment \['boat'\] is not in the problem",
        ),
        (lambda: with_orders(tiny(), repair={"after": ("dream",)}), "order repair: after must name other orders of the problem"),
        (lambda: with_orders(tiny(), repair={"after": ("repair",)}), "order repair: after must name other orders of the problem"),
        (lambda: with_orders(tiny(), repair={"window": "storm"}), "order repair: window 'storm' is not in workable"),
        (lambda: with_orders(tiny(), repair={"days": (0, 3)}), "order repair: days name a day outside the horizon"),
        (
            lambda: with_orders(tiny(), repair={"opens_climbing": True}),
            "order repair: an order that opens climbing needs an access",
        ),
        (lambda: with_orders(tiny(), repair={"pins": ((0, 1, 20),)}), r"order repair: pin \(0, 1, 20\) lies outside the horizon"),
        (lambda: with_orders(tiny(), repair={"modes": ()}), "order repair: needs at least one mode"),
        (
            lambda: with_orders(tiny(), repair={"modes": (Mode(1, (60,)),)}),
            "order repair: a team of 1 is below the least team of 2",
        ),
        (lambda: with_orders(tiny(), repair={"modes": (Mode(2, (-60,)),)}), "order repair: visits_min must be minutes above 0"),
        (lambda: with_orders(tiny(), repair={"modes": (Mode(2, ()),)}), "order repair: visits_min must be minutes above 0"),
        (
            lambda: with_orders(tiny(), repair={"modes": (Mode(2, (60,)), Mode(2, (60,)))}),
            "two modes with the same team size and visits; keep one",
        ),
        (lambda: with_orders(tiny(), repair={"needs": (Need("electrical", 1, 0),)}), "needs must ask for at least one person"),
        (
            lambda: with_orders(tiny(), repair={"left_out_cost": 2**31}),
            "order repair: costs must be between 0 and 536870912 cents",
        ),
        (lambda: with_orders(tiny(), repair={"late_cost": -1}), "order repair: costs must be between 0"),
        (lambda: replace(tiny(), members=0), "members is 0: at least one is needed"),
        (lambda: replace(tiny(), members=5), r"workable\['calm'\] does not hold 5 members x 60 slots"),
        (lambda: replace(tiny(), stop_mwh={"std": (0.5,) * 59}), r"stop_mwh\['std'\] has 59 values, expected 60"),
        (lambda: replace(tiny(), night_mwh={"std": (4.0,)}), r"night_mwh\['std'\] has 1 values, expected 3"),
        (lambda: replace(tiny(), price_cents={"hill": (1,)}), r"price_cents\['hill'\] has 1 values, expected 60"),
        (lambda: replace(tiny(), night_cents={"hill": (1,)}), r"night_cents\['hill'\] has 1 values, expected 3"),
        (lambda: replace(tiny(), published=(PublishedVisit("dream", 0, 0, 1, (), 5),)), "published visit of 'dream'"),
        (lambda: replace(tiny(), published=(PublishedVisit("repair", 0, 9, 1, (), 5),)), "order and day must be in the problem"),
        (lambda: replace(tiny(), published=(PublishedVisit("repair", 0, 0, 1, (), -5),)), "change_cost must be 0 or more"),
        (lambda: replace(tiny(), weights=replace(tiny().weights, team_day=-1)), "weights must be 0 or more"),
        (lambda: with_rules(tiny(), confidence=0.0), "rules.confidence is 0.0: give a share above 0 and at most 1"),
        (lambda: with_rules(tiny(), confidence=float("nan")), "rules.confidence is nan"),
        (lambda: with_rules(tiny(), min_team=1), "rules.min_team is 1: never fewer than two people up a turbine"),
        (lambda: with_rules(tiny(), rest_min=-1), "rules must be 0 or more"),
    ],
)
def test_what_does_not_fit_is_refused_in_one_sentence(build: Build, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence) as refused:
        build()
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("build", [tiny, lambda: fortnight_case("small", 3), lambda: random_small(8)])
def test_a_problem_comes_back_from_json_as_it_was(build: Build) -> None:
    problem = build()
    assert problem_from_json(json.loads(json.dumps(problem_to_json(problem), allow_nan=False))) == problem


def test_a_plan_comes_back_from_json_as_it_was() -> None:
    assert plan_from_json(json.loads(json.dumps(plan_to_json(hand_plan())))) == hand_plan()


@pytest.mark.parametrize(
    ("path", "value", "sentence"),
    [
        (("orders", 1, "turbine"), "T9", "problem: order repair: turbine 'T9' is not in the problem"),
        (("orders", 1, "turbine"), 7, r"problem.orders\[1\].turbine: expected a text, got 7"),
        (("orders", 1, "colour"), "red", r"problem.orders\[1\]: unknown field 'colour'"),
        (("orders", 1, "modes", 0, "team"), "two", r"problem.orders\[1\].modes\[0\].team: expected a whole number, got 'two'"),
        (("people", 0, "shifts", 0, "end"), 1.5, r"problem.people\[0\].shifts\[0\].end: expected a whole number, got 1.5"),
        (("people", 0, "learner"), 1, r"problem.people\[0\].learner: expected true or false, got 1"),
        (("stop_mwh", "std", 4), float("nan"), r"problem.stop_mwh.std\[4\]: expected a finite number, got nan"),
        (("members",), True, "problem.members: expected a whole number, got True"),
        (("vehicles",), {}, "problem.vehicles: expected a list"),
    ],
)
def test_a_damaged_file_names_the_path(path: tuple[Any, ...], value: Any, sentence: str) -> None:
    data = json.loads(json.dumps(problem_to_json(tiny())))
    spot = data
    for step in path[:-1]:
        spot = spot[step]
    spot[path[-1]] = value
    with pytest.raises(ValueError, match=sentence):
        problem_from_json(data)


def test_a_missing_field_is_named() -> None:
    data = json.loads(json.dumps(problem_to_json(tiny())))
    del data["turbines"]
    with pytest.raises(ValueError, match="problem: field 'turbines' is missing"):
        problem_from_json(data)


def test_days_in_a_row_number_the_columns() -> None:
    assert tiny().total_slots == 60
