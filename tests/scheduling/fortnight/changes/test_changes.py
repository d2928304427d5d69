"""What each change does to the tiny farm, and how bad ones are refused."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scheduling.fortnight.changes import Register, apply, change_from_json, changes_from_json
from scheduling.fortnight.changes.orders import DueDate, PartsEarlier
from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Order, Person, Problem
from tests.scheduling.fortnight.changes.samples import DATES, MON, TUE, WED, farm, register


def laid(*changes: dict[str, Any], problem: Problem | None = None, beside: Register | None = None) -> Problem:
    """The farm with changes given as JSON."""
    return apply(problem or farm(), changes_from_json(list(changes)), beside or register())


def order(problem: Problem, number: str) -> Order:
    return next(one for one in problem.orders if one.id == number)


def person(problem: Problem, name: str) -> Person:
    return next(one for one in problem.people if one.id == name)


def test_away_takes_the_shifts_of_these_days() -> None:
    changed = laid({"kind": "person away", "person": "ann", "days": [MON, WED]})
    assert [one.day for one in person(changed, "ann").shifts] == [1]
    assert person(changed, "ben") == person(farm(), "ben")


def test_somebody_added_is_as_the_colleague_was_before_any_change_and_costs_by_the_day() -> None:
    changed = laid(
        {"kind": "person away", "person": "ann", "days": list(DATES)},
        {"kind": "person added", "person": "Eve", "like": "ann", "day_cost": 650.5},
    )
    eve = person(changed, "Eve")
    assert (eve.shifts, eve.skills, eve.fit_days) == (person(farm(), "ann").shifts, person(farm(), "ann").skills, (0, 1, 2))
    assert eve.day_cost == 65_050
    assert person(changed, "ann").shifts == ()


def test_somebody_added_may_be_away_too() -> None:
    changed = laid(
        {"kind": "person away", "person": "Eve", "days": [MON]}, {"kind": "person added", "person": "Eve", "like": "ben"}
    )
    assert [one.day for one in person(changed, "Eve").shifts] == [1, 2]


def test_what_is_added_to_a_shift_is_overtime() -> None:
    short = replace(farm(), people=tuple(replace(p, shifts=tuple(replace(s, end=17) for s in p.shifts)) for p in farm().people))
    changed = laid({"kind": "shift longer", "person": "ann", "minutes": 60, "days": [TUE]}, problem=short)
    assert [(s.day, s.end, s.regular_end) for s in person(changed, "ann").shifts] == [(0, 17, 16), (1, 19, 16), (2, 17, 16)]


def test_a_shift_cut_to_nothing_goes() -> None:
    short = replace(
        farm(), people=tuple(replace(p, shifts=tuple(replace(s, end=4, regular_end=4) for s in p.shifts)) for p in farm().people)
    )
    changed = laid({"kind": "shift longer", "person": "ann", "minutes": -120}, problem=short)
    assert person(changed, "ann").shifts == ()


def test_another_due_date_moves_the_lateness_that_leaving_out_pays_for() -> None:
    """The builder adds the lateness of the horizon to the cost of leaving out; service: 100 EUR a day, due on day 1 of 3."""
    later = order(laid({"kind": "due date", "order": "service", "day": WED}), "service")
    assert (later.due_day, later.left_out_cost) == (2, 490_000)
    long_ago = order(laid({"kind": "due date", "order": "service", "day": "2026-02-28"}), "service")
    assert (long_ago.due_day, long_ago.left_out_cost) == (-2, 530_000)


def test_a_later_due_date_costs_an_empty_plan_less_lateness() -> None:
    changed = laid({"kind": "due date", "order": "service", "day": WED})
    empty = Plan((), tuple(one.id for one in changed.orders))
    assert recompute_parts(farm(), empty)["left out"] - recompute_parts(changed, empty)["left out"] == 10_000


def test_parts_that_come_earlier_open_days_that_nothing_else_closes() -> None:
    assert order(laid({"kind": "parts earlier", "order": "inspection", "day": MON}), "inspection").days == (0, 1, 2)
    assert order(laid({"kind": "parts earlier", "order": "inspection", "day": TUE}), "inspection").days == (1, 2)
    both = replace(register(), closed={"inspection": {"0": ("parts", "hold")}})
    assert order(laid({"kind": "parts earlier", "order": "inspection", "day": MON}, beside=both), "inspection").days == (1, 2)


def test_equipment_on_other_days_opens_the_orders_that_waited_for_it_alone() -> None:
    narrow = replace(farm(), orders=tuple(replace(o, days=(1,)) if o.id == "crane work" else o for o in farm().orders))
    changed = laid({"kind": "equipment days", "equipment": "crane", "days": [MON, WED]}, problem=narrow)
    assert changed.equipment[0].days == (0, 2)
    assert order(changed, "crane work").days == (0,)  # Wednesday is closed besides, Tuesday has no crane any more


def test_a_turbine_closed_takes_its_days_from_all_its_orders_however_they_were_given() -> None:
    changed = laid(
        {"kind": "turbine closed", "turbine": "T1", "days": [TUE]},
        {"kind": "allowed days", "order": "service", "days": [TUE, WED]},
    )
    assert (order(changed, "service").days, order(changed, "inspection").days) == ((2,), (2,))
    assert order(changed, "repair").days == (0, 1, 2)


def test_left_out_by_hand_leaves_no_day_and_no_pin() -> None:
    pinned = replace(farm(), orders=tuple(replace(o, pins=((0, 0, 3),)) if o.id == "repair" else o for o in farm().orders))
    changed = order(laid({"kind": "left out by hand", "order": "repair"}, problem=pinned), "repair")
    assert (changed.days, changed.pins) == ((), ())


def test_a_pin_on_a_day_that_goes_must_be_lifted_too() -> None:
    pinned = replace(farm(), orders=tuple(replace(o, pins=((0, 0, 3),)) if o.id == "repair" else o for o in farm().orders))
    closed = {"kind": "turbine closed", "turbine": "T2", "days": [MON]}
    with pytest.raises(
        ValueError, match="changes: repair is pinned to 2026-03-02, which is taken away: lift its pin too"
    ) as told:
        laid(closed, problem=pinned)
    assert "lift its pin" in str(told.value)
    assert order(laid(closed, {"kind": "pin lifted", "order": "repair"}, problem=pinned), "repair").days == (1, 2)


def test_a_mode_is_kept_or_given() -> None:
    assert [m.team for m in order(laid({"kind": "order mode", "order": "service", "team": 3}), "service").modes] == [3]
    given = order(laid({"kind": "order mode", "order": "service", "team": 4, "visits_min": [200]}), "service")
    assert [(m.team, m.visits_min) for m in given.modes] == [(4, (200,))]


def test_changes_weigh_less_when_nobody_has_been_told() -> None:
    told = laid({"kind": "change weight", "times": 0.25}).published[0]
    assert (told.change_cost, told.crew_cost) == (2_500, 125)


def test_a_limit_needs_the_tables_that_were_made_for_it() -> None:
    asked = {"kind": "limit", "limit_set": "calm", "value": 14}
    with pytest.raises(ValueError, match="were not made for these limits"):
        laid(asked)
    with pytest.raises(ValueError, match="no new weather table for hill/100 m/calm"):
        laid(asked, beside=replace(register(), made_for={"calm": {"wind": 14.0}}))
    with pytest.raises(ValueError, match="were not made for these limits"):
        laid(asked, beside=replace(register(), made_for={"calm": {"wind": 13.0}}, workable={"hill/100 m/calm": "x"}))


BAD: list[tuple[dict[str, Any], str]] = [
    ({"kind": "person away", "person": "Zoe", "days": [MON]}, r"changes\[0\].person: 'Zoe' is no person .* ann, ben, cem, dia"),
    ({"kind": "person away", "person": "ann", "days": []}, r"changes\[0\].days: names no day"),
    (
        {"kind": "person away", "person": "ann", "days": ["2026-07-01"]},
        r"days\[0\]: 2026-07-01 is not .* 2026-03-02 to 2026-03-04",
    ),
    ({"kind": "person away", "person": "ann", "days": ["soon"]}, r"days\[0\]: 'soon' is no day"),
    ({"kind": "person away", "person": "ann"}, "field 'days' is missing"),
    ({"kind": "person away", "person": "ann", "days": [MON], "why": "ill"}, "unknown field 'why'"),
    ({"kind": "person away", "person": 7, "days": [MON]}, r"changes\[0\].person: expected a text, got 7"),
    ({"kind": "person added", "person": "ann", "like": "ben"}, "'ann' is a person already"),
    ({"kind": "person added", "person": " ", "like": "ben"}, "is no name"),
    ({"kind": "person added", "person": "Eve", "like": "Zoe"}, r"changes\[0\].like: 'Zoe'"),
    ({"kind": "person added", "person": "Eve", "like": "ben", "day_cost": -1}, "day_cost: -1: give an amount"),
    ({"kind": "shift longer", "person": "ann", "minutes": 45}, "45 minutes: give up to 240 either way, in steps of 30"),
    ({"kind": "shift longer", "person": "ann", "minutes": 0}, "not 0"),
    (
        {"kind": "shift longer", "person": "ann", "minutes": 30},
        "reach beyond the plannable hours of 2026-03-02: give at most 0",
    ),
    ({"kind": "shift longer", "person": "dia", "minutes": -30, "days": [WED]}, "no shift on any of these days"),
    ({"kind": "limit", "limit_set": "storm", "value": 9}, "'storm' is no limit set of this problem; there are calm"),
    ({"kind": "limit", "limit_set": "calm", "value": 9, "quantity": "lightning"}, "'lightning' cannot be tried"),
    ({"kind": "limit", "limit_set": "calm", "value": 9, "quantity": "gust"}, "has no limit of gust; it has wind"),
    ({"kind": "limit", "limit_set": "calm", "value": 90}, "90 m/s: give a limit above 0"),
    ({"kind": "confidence", "share": 0.3}, "share from 0.5 to 1"),
    ({"kind": "confidence", "share": float("nan")}, "expected a finite number"),
    (
        {"kind": "due date", "order": "inspection", "day": WED},
        r"changes\[0\].order: inspection is statutory: its date is the law's",
    ),
    ({"kind": "due date", "order": "service", "day": "1900-01-01"}, "more than ten years away"),
    ({"kind": "order mode", "order": "service", "team": 1, "visits_min": [60]}, "never fewer than 2 people up a turbine"),
    ({"kind": "order mode", "order": "service", "team": 5}, "has no mode for 5 people; it has 2, 3"),
    ({"kind": "order mode", "order": "service", "team": 2, "visits_min": [0]}, r"visits_min\[0\]: 0 minutes"),
    ({"kind": "parts earlier", "order": "service", "day": MON}, "does not wait for parts"),
    ({"kind": "left out cost", "order": "service", "cost": 1e9}, "give an amount of 0 to"),
    ({"kind": "equipment days", "equipment": "ship", "days": [MON]}, "'ship' is no equipment"),
    ({"kind": "vehicle added", "vehicle": "van", "seats": 4}, "'van' is a vehicle already"),
    ({"kind": "vehicle added", "vehicle": "bus", "seats": 1}, "1 seats: give 2 to 50"),
    ({"kind": "vehicle gone", "vehicle": "bus"}, "'bus' is no vehicle"),
    ({"kind": "turbine closed", "turbine": "T9", "days": [MON]}, "'T9' is no turbine"),
    ({"kind": "weight", "weight": "luck", "value": 1}, "'luck' is no weight of this problem; there are travel"),
    ({"kind": "weight", "weight": "travel", "value": 101}, "give an amount of 0 to 100"),
    ({"kind": "change weight", "times": -1}, "give 0 to 20"),
    ({"kind": "rule", "rule": "most stopped", "value": 0, "site": "hill"}, "0 turbines: give 1 to 1000"),
    ({"kind": "rule", "rule": "most stopped", "value": 1, "site": "vale"}, "'vale' is no site"),
    ({"kind": "rule", "rule": "min_team", "value": 1}, "cannot be changed, not even to try: never fewer than two people"),
    ({"kind": "rule", "rule": "certificates", "value": 0}, "nobody goes up without valid certificates"),
    ({"kind": "rule", "rule": "luck", "value": 0}, "'luck' is no rule that can be tried"),
    ({"kind": "rescue pair", "value": 1}, r"changes\[0\].kind: 'rescue pair' cannot be changed"),
    ({"kind": "wind", "value": 1}, "'wind' is no kind of change; there are person added"),
    ({}, "None is no kind of change"),
]


@pytest.mark.parametrize(("change", "told"), BAD, ids=[told[:40] for _, told in BAD])
def test_what_cannot_be_tried_is_refused_with_path_and_cure(change: dict[str, Any], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        laid(change)


def test_two_changes_that_decide_the_same_are_refused() -> None:
    with pytest.raises(ValueError, match=r"changes\[1\]: due date of repair is changed by changes\[0\] already: keep one"):
        laid({"kind": "due date", "order": "repair", "day": MON}, {"kind": "due date", "order": "repair", "day": TUE})


@pytest.mark.parametrize("data", ["all", 7, None, {"kind": "confidence"}])
def test_what_is_no_list_is_refused(data: Any) -> None:
    with pytest.raises(ValueError, match="changes: expected a list such as"):
        changes_from_json(data)


def test_too_many_are_refused() -> None:
    with pytest.raises(ValueError, match="201 changes are too many"):
        changes_from_json([{"kind": "confidence", "share": 0.8}] * 201)


def test_one_change_that_is_no_object_is_refused() -> None:
    with pytest.raises(ValueError, match="change: expected an object"):
        change_from_json([])


@pytest.mark.parametrize(
    ("change", "looser"),
    [
        ({"kind": "limit", "limit_set": "calm", "value": 12.5}, "12 m/s now"),
        ({"kind": "limit", "limit_set": "calm", "value": 12}, ""),
        ({"kind": "limit", "limit_set": "calm", "value": 9}, ""),
        ({"kind": "confidence", "share": 0.7}, "75 % now"),
        ({"kind": "confidence", "share": 0.75}, ""),
        ({"kind": "turbine closed", "turbine": "T1", "days": [MON]}, ""),
    ],
)
def test_what_is_looser_than_the_register_carries_a_caution(change: dict[str, Any], looser: str) -> None:
    told = change_from_json(change).caution(farm(), register())
    assert (looser in told, "Nobody goes up by it" in told) == (True, bool(looser))


def test_cures_name_the_row_of_the_register() -> None:
    problem = farm()
    assert PartsEarlier("inspection", MON).cure(problem).startswith("have the parts of order inspection delivered by 2026-03-02")
    assert DueDate("repair", TUE).cure(problem) == "give order repair the due date 2026-03-03 (Orders)"
