from __future__ import annotations

import json
from dataclasses import replace

import pytest

from scheduling.year.plan import plan_from_json, plan_to_json
from scheduling.year.problem import Equipment, Rules, Together, Turbine, Weights, problem_from_json, problem_to_json
from tests.bench.year_cases import SIZES, generate, weeks_from
from tests.scheduling.year.farm import TINY, laid, service, with_items


def test_a_stored_round_comes_back() -> None:
    problem = generate(SIZES["small"], 1)
    assert problem_from_json(json.loads(json.dumps(problem_to_json(problem), allow_nan=False))) == problem
    plan = laid(TINY, {"T1 service": 3})
    assert plan_from_json(json.loads(json.dumps(plan_to_json(plan)))) == plan


def test_week_labels_follow_iso_over_the_turn_of_the_year() -> None:
    """2026 has a week 53: 2027-01-01 is 2026-W53-5 (standard library)."""
    labels = [week.label for week in weeks_from("2026-12-21", 3, {})]
    assert labels == ["2026-W52", "2026-W53", "2027-W01"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"weeks": (replace(TINY.weeks[0], monday="2026-01-06"),)}, "must be a Monday"),
        ({"weeks": (replace(TINY.weeks[0], label="2026-W03"),)}, "its label 2026-W02"),
        ({"weeks": (replace(TINY.weeks[0], monday="2026-02-30"),)}, "give a date like"),
        ({"weeks": (TINY.weeks[0], TINY.weeks[2])}, "without a hole"),
        ({"weeks": (replace(TINY.weeks[0], capacity_h={"everybody": -1.0}),)}, "person-hours of 0 or more"),
        ({"weeks": (replace(TINY.weeks[0], capacity_h={"everybody": float("nan")}),)}, "person-hours of 0 or more"),
        ({"turbines": (*TINY.turbines, TINY.turbines[0])}, "'T1' stands twice"),
        ({"turbines": (Turbine("T1", "nowhere", "type A"), TINY.turbines[1])}, "no price_cents for site 'nowhere'"),
        ({"turbines": (Turbine("T1", "north", "type B"), TINY.turbines[1])}, "no lost_mwh_per_stop_h for energy 'type B'"),
        ({"workable_share": {}}, "limit 'climb' is not in workable_share"),
        ({"workable_share": {"climb": ((1.0,) * 6,)}}, "2 scenarios x 6 weeks"),
        ({"workable_share": {"climb": ((1.0,) * 6, (1.2,) * 6)}}, "between 0 and 1"),
        ({"workable_share": {"climb": ((1.0,) * 6, (float("nan"),) * 6)}}, "between 0 and 1"),
        ({"lost_mwh_per_stop_h": {"type A": ((-1.0,) * 6,) * 2}}, "MWh of 0 or more"),
        ({"price_cents": {"north": ((1,) * 6,) * 3}}, "1 or 2 rows"),
        ({"equipment": (Equipment("crane", (0,), 0),)}, "capacity must be 1 or more"),
        ({"equipment": (Equipment("crane", (6,)),)}, "outside the horizon"),
        ({"together": (Together("T1 service", "T2 service", 1.0),)}, "of the same turbine"),
        ({"rules": Rules(fit_share=0.0)}, "fit_share is 0.0"),
        ({"rules": Rules(max_down={"south": 1})}, "must name a site"),
        ({"weights": Weights(tail_share=1.5)}, "tail_share must lie between"),
        ({"weights": Weights(quantile=1.0)}, "quantile between"),
        ({"weights": Weights(overload_per_person_h=-1)}, "weights must be between"),
    ],
)
def test_a_faulty_round_is_refused_with_field_and_cure(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        replace(TINY, **change)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"effort_person_h": 0.0}, "effort_person_h must be above 0"),
        ({"effort_person_h": float("nan")}, "effort_person_h must be above 0"),
        ({"stop_h": -1.0}, "stop_h 0 or more"),
        ({"team": 1}, "never fewer than two people"),
        ({"skills": {"juggling": 1}}, "skill 'juggling' must be a group"),
        ({"skills": {"inspector": 3}}, "ask for 1 to 2 people"),
        ({"due": 9}, "must follow each other"),
        ({"weeks": (6,)}, "different weeks inside the horizon"),
        ({"weeks": (1, 1)}, "different weeks inside the horizon"),
        ({"late_cost": -1}, "costs must be between 0"),
        ({"turbine": "T9"}, "turbine 'T9' is not in the problem"),
        ({"equipment": ("crane",)}, "is not in the problem"),
        ({"absorbs": ("T2 service",)}, "other items of the same turbine"),
        ({"absorbs": ("T1 service",)}, "other items of the same turbine"),
        ({"pinned": 7}, "pinned to week 7"),
        ({"pinned": 5, "statutory": True}, "free the pin or open that week"),
        ({"previous": -1}, "previous is -1"),
    ],
)
def test_a_faulty_item_is_refused(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        replace(TINY, items=(replace(service("T1"), **change), service("T2")))


def test_pairs_never_save_more_than_the_stop() -> None:
    items = (service("T1"), service("T1", id="oil", stop_h=3.0))
    with pytest.raises(ValueError, match="item oil: its pairs save 4 h of a stop of 3 h"):
        with_items(*items, together=(Together("T1 service", "oil", 4.0),))


def test_what_absorbs_is_not_absorbed() -> None:
    items = (service("T1", absorbs=("b",)), service("T1", id="b", absorbs=("c",)), service("T1", id="c"))
    with pytest.raises(ValueError, match="which absorbs others itself"):
        with_items(*items)
