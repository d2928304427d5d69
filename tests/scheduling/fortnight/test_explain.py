"""Reasons on the tiny farm: each rule is made to bind in turn, and the sentence names it with its numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.explain import CODES, Reason, day_text, days_text, money, reasons, why_left_out
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Access, Equipment, Mode, Need, Problem, Shift, Vehicle
from scheduling.fortnight.room import Room
from tests.bench.cases import random_small
from tests.bench.rule import rule_plan
from tests.scheduling.fortnight.farms import ALL_DAYS, NONE, hand_plan, priced, tiny, with_orders, with_people, with_rules

NOTHING = Plan((), tuple(order.id for order in tiny().orders))


def clock(day: int, slot: int) -> str:
    return f"{7 + slot // 2:02}:{30 * (slot % 2):02}"


def without(problem: Problem, order: str) -> Plan:
    """The plan by hand without the visits of one order."""
    kept = tuple(v for v in hand_plan().visits if all(job.order != order for job in v.jobs))
    planned = {job.order for v in kept for job in v.jobs}
    return priced(problem, Plan(kept, tuple(o.id for o in problem.orders if o.id not in planned)))


def asked(problem: Problem, order: str, plan: Plan = NOTHING) -> Reason:
    reason = why_left_out(problem, plan, order, clock)
    assert reason.code in CODES
    return reason


@pytest.mark.parametrize(
    ("order", "changes", "code", "said"),
    [
        ("repair", {"days": ()}, "no allowed day", "leave no day; 1 allowed day(s) are needed"),
        ("inspection", {"after": ("crane work",)}, "comes after", "after crane work, which is left out itself"),
        ("crane work", {"days": (0, 2)}, "equipment away", "on Mon 2 Mar, Wed 4 Mar, but crane is there on Tue 3 Mar"),
        ("inspection", {"days": (2,), "pins": ((0, 1, 4),)}, "equipment away", "pinned to another day"),
        (
            "repair",
            {"modes": (Mode(2, (600,)),)},
            "too long",
            "takes 11.0 h with the way up and down; the longest day has 10.0 h",
        ),
        ("repair", {"needs": (Need("rope", 1, 1),)}, "no skill", "Nobody holds rope at level 1 in this fortnight"),
        (
            "repair",
            {"needs": (Need("electrical", 2, 2),)},
            "no skill",
            "1 of 2 people with electrical level 2 are there; it is held by Ann",
        ),
        ("repair", {"modes": (Mode(5, (60,)),)}, "too few people", "at most 4 of 5 people"),
        (
            "inspection",
            {"modes": (Mode(4, (60,)),), "days": (2,)},
            "too few people",
            "3 of 4 people are there for the whole time: Wed 4 Mar, off: Dia",
        ),
    ],
)
def test_what_the_order_itself_asks_for(order: str, changes: dict[str, Any], code: str, said: str) -> None:
    reason = asked(with_orders(tiny(), **{order.replace(" ", "_"): changes}), order)
    assert reason.code == code
    assert said in reason.text


def test_shut_climbing_unless_the_work_opens_it() -> None:
    problem = tiny()
    problem = replace(problem, turbines=(*problem.turbines[:2], replace(problem.turbines[2], access=(NONE,) * 3)))
    reason = asked(problem, "crane work")
    assert (reason.code, reason.text) == (
        "no access",
        "Climbing T3 is shut on Mon 2 Mar to Wed 4 Mar, and this work does not open it.",
    )
    opening = with_orders(problem, crane_work={"opens_climbing": True, "access": Access("ladder", 40, 40)})
    assert asked(opening, "crane work").code == "room found"


def test_the_best_chance_is_named_with_its_time() -> None:
    problem = with_orders(with_rules(tiny(), confidence=0.9), crane_work={"pins": ((0, 1, 6),)})
    problem = with_orders(problem, inspection={"days": (1,), "modes": (Mode(2, (450,)),)})
    reason = asked(problem, "inspection")  # 450 + 30 + 30 min: 17 slots, none of which end before slot 16
    assert reason.code == "no chance"
    assert reason.text == "No start has enough chance: the whole stay fits nowhere on Tue 3 Mar, 90 % is asked for."
    shorter = with_orders(problem, inspection={"modes": (Mode(2, (390,)),)})  # 15 slots: end in slot 15 or 16 at best
    reason = asked(shorter, "inspection")
    assert reason.text == "No start has enough chance: the best is 75 % on Tue 3 Mar, 07:00, 90 % is asked for."
    assert (reason.numbers["chance"], reason.numbers["day"], reason.numbers["slot"]) == (0.75, 1.0, 0.0)


@pytest.mark.parametrize(
    ("people", "code", "said"),
    [
        ({"ben": {"shifts": ()}, "cem": {"shifts": ()}, "dia": {"shifts": ()}}, "too few people", "off: Ben, Cem, Dia"),
        ({n: {"fit_days": ()} for n in ("ben", "cem", "dia")}, "too few people", "without a valid certificate: Ben, Cem, Dia"),
        (
            {n: {"shifts": (Shift(0, 4, 8, 8),)} for n in ("ben", "cem", "dia")},
            "too few people",
            "shift too short: Ben, Cem, Dia",
        ),
        ({n: {"rescue_days": ()} for n in ("ben", "cem", "dia")}, "too few rescuers", "at most 1 of 2 rescue-capable"),
        ({n: {"learner": True} for n in ("ben", "cem", "dia")}, "too few people", "at most 1 of 2 people"),
    ],
)
def test_people_who_are_away_are_named(people: dict[str, dict[str, Any]], code: str, said: str) -> None:
    problem = with_orders(with_people(tiny(), **people), repair={"days": (0,)})
    reason = asked(problem, "repair")
    assert reason.code == code
    assert said in reason.text


def test_seats_and_pairs() -> None:
    small = replace(tiny(), vehicles=(Vehicle("car", 2),))
    assert asked(small, "crane work").text == "The largest vehicle has 2 seats, the team has 3 people."
    apart = tuple((a, b) for a in ("ann", "ben", "cem", "dia") for b in ("ann", "ben", "cem", "dia") if a < b)
    assert asked(replace(tiny(), apart=apart), "repair").code == "no team"


def test_a_turbine_or_crane_in_use_by_others() -> None:
    problem = with_orders(tiny(), inspection={"days": (0,), "modes": (Mode(2, (210,)),)})  # 8 slots on T1 on Monday
    plan = without(problem, "inspection")
    plan = priced(problem, replace(plan, visits=hand_plan().visits[:2], left_out=("crane work", "inspection")))
    reason = asked(problem, "inspection", plan)
    assert reason.code == "turbine busy"
    assert "T1 or a turbine it stops is worked on or isolated" in reason.text
    assert "repair" in reason.text
    twice = with_orders(tiny(), repair={"equipment": ("crane",), "days": (1,), "modes": (Mode(2, (240,)),)})
    plan = replace(hand_plan(), visits=hand_plan().visits[2:3], left_out=("service", "repair", "inspection", "feeder"))
    assert asked(twice, "repair", plan).code == "equipment taken"
    two_cranes = replace(twice, equipment=(Equipment("crane", "crane", 2, (1,)),))
    assert asked(with_rules(two_cranes, max_stopped={"hill": 1}), "repair", plan).code == "too many stopped"


def test_people_out_on_dearer_work_are_the_bottleneck() -> None:
    problem = with_orders(tiny(), repair={"days": (1,), "left_out_cost": 10_000}, feeder={"days": (1,)})
    plan = priced(problem, Plan(hand_plan().visits[2:3], ("service", "repair", "inspection", "feeder")))
    busy = with_people(problem, dia={"shifts": ()}, ann={"shifts": (Shift(1, 4, 14, 14),)})
    reason = asked(busy, "repair", plan)  # Ann, Ben and Cem are on the crane work in slots 5 to 13
    assert reason.code == "people busy"
    assert reason.text.startswith("There was room only at the cost of dearer work: Tue 3 Mar, ")
    assert "out that day crane work, together 5,000 EUR to leave out, this one 100 EUR" in reason.text
    assert reason.numbers["person_min"] == 2 * 5 * 30
    dearer = with_orders(busy, repair={"days": (1,), "left_out_cost": 600_000})
    assert asked(dearer, "repair", plan).text.startswith("The people are out on other work")


def test_vehicles_that_are_out() -> None:
    problem = replace(tiny(), vehicles=(Vehicle("van", 4),))
    problem = with_orders(problem, inspection={"days": (1,), "modes": (Mode(3, (60,)),)})
    visit = replace(hand_plan().visits[1], day=1, start=5, slots=6, jobs=(replace(hand_plan().visits[3].jobs[0]),), vehicle="van")
    problem = replace(problem, people=(*problem.people, replace(problem.people[0], id="eve", name="Eve")))
    reason = asked(problem, "inspection", Plan((visit,), ("service", "repair", "crane work", "inspection", "feeder")))
    assert reason.code == "vehicles out"
    assert "every vehicle for 3 people is out (van) on service" in reason.text


def test_visits_that_fit_alone_but_not_in_a_row() -> None:
    problem = with_orders(tiny(), service={"days": (0, 2), "max_gap_days": 1, "modes": (Mode(2, (210, 150)),)})
    reason = asked(problem, "service")
    assert reason.code == "no row of days"
    assert reason.text == "Each of its 2 visits has room, but not one after another within 1 days of each other."


def test_what_fits_is_priced_against_leaving_it_out() -> None:
    plan = without(tiny(), "repair")
    cheap = with_orders(tiny(), repair={"left_out_cost": 5_000}, feeder={"left_out_cost": 0})
    reason = asked(cheap, "repair", plan)
    assert reason.code == "not worth it"
    assert "leaving it out costs 50 EUR, so it waits" in reason.text
    assert reason.numbers["cost_cents"] > 5_000
    assert asked(tiny(), "repair", plan).code == "room found"


def test_every_left_out_order_has_a_reason_and_found_room_is_room() -> None:
    seen = set()
    for seed in range(150):
        problem = random_small(seed)
        plan = rule_plan(problem)
        found = reasons(problem, plan)
        assert list(found) == [order.id for order in problem.orders if order.id in plan.left_out]
        assert not {"room found", "not worth it"} & {r.code for r in found.values()}, seed  # the rule of thumb leaves no room
        seen |= {reason.code for reason in found.values()}
    assert len(seen) >= 12, seen


def test_room_that_was_found_passes_the_checker() -> None:
    for seed in range(60):
        problem = random_small(seed)
        order = problem.orders[-1]
        if order.after or order.pins or any(order.id in other.after for other in problem.orders):
            continue
        plan = rule_plan(replace(problem, orders=problem.orders[:-1], published=()))
        room = Room(problem, plan.visits)
        placed = [p for mode in order.modes if (p := room.with_order(order, mode))]
        if placed:
            whole = priced(problem, replace(plan, visits=plan.visits + tuple(placed[0][1])))
            assert check(problem, whole) == (), seed


def test_questions_that_make_no_sense_are_refused() -> None:
    with pytest.raises(ValueError, match="'nothing' is not in the problem; name one of its orders"):
        why_left_out(tiny(), hand_plan(), "nothing")
    with pytest.raises(ValueError, match="'repair' is planned; ask why_here"):
        why_left_out(tiny(), hand_plan(), "repair")


def test_words() -> None:
    assert day_text(tiny(), 2) == "Wed 4 Mar"
    assert days_text(tiny(), ALL_DAYS) == "Mon 2 Mar to Wed 4 Mar"
    assert days_text(tiny(), ()) == "no day"
    assert money(tiny(), 123_456_789) == "1,234,568 EUR"


@pytest.mark.parametrize("seed", range(12))
def test_remembering_what_was_worked_out_changes_no_answer(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = random_small(seed)
    plan = due_order_plan(problem)
    quick = [reasons(problem, plan), reasons(problem, Plan((), ()))]
    monkeypatch.setattr(Room, "_remember", lambda _room, _key, make: make())
    assert (due_order_plan(problem), [reasons(problem, plan), reasons(problem, Plan((), ()))]) == (plan, quick)
