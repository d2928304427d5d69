"""The checker's count of a plan's money, against sums by hand on the tiny farm."""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import PublishedVisit
from tests.scheduling.fortnight.farms import hand_plan, priced, tiny, with_orders, with_people, with_visit


def test_the_money_of_the_plan_by_hand() -> None:
    assert recompute_parts(tiny(), hand_plan()) == {
        # slots at 3,000: repair 7 on T1 and T2; service 8; crane 8; service 8; T1 between visits 4 + 20 + 5 and two nights
        "lost energy": (14 + 8 + 8 + 8 + 29) * 3_000 + 2 * 24_000,
        "lateness": 10_000 + 10_000,  # repair one day (due -1, done 0), service one (due 1, done 2)
        "left out": 0,
        "likely aborts": 3 * 15_000 // 4,  # one chance in four, three people
        "travel": 60 * (2 * 50 + 2 * 30 + 3 * 60 + 2 * 30),
        "nights away": 0,
        "teams": 4 * 4_000,
        "overtime": 90 * 2 * 15,  # Cem and Dia are back at slot 16 and 15 minutes; regular end is slot 16
        "equipment": 80_000,
        "change": 0,
        "hired people": 0,
        "hand-over": 0,
        "pairs apart": 0,
    }


def test_an_order_left_out_costs_what_it_says() -> None:
    plan = Plan((), tuple(order.id for order in tiny().orders))
    assert check(tiny(), priced(tiny(), plan)) == ()
    assert recompute_parts(tiny(), plan)["left out"] == 5 * 500_000
    assert sum(recompute_parts(tiny(), plan).values()) == 5 * 500_000


def test_change_counts_moved_and_dropped_visits_but_not_other_people() -> None:
    kept = PublishedVisit("repair", 0, 0, 1, ("cem", "dia"), 100)
    moved = PublishedVisit("crane work", 0, 1, 4, ("ann",), 20)
    dropped = PublishedVisit("inspection", 1, 2, 5, ("ann",), 3)
    assert recompute_parts(replace(tiny(), published=(kept, moved, dropped)), hand_plan())["change"] == 23


def test_people_gone_from_a_visit_that_stands_still_cost_and_strangers_always_do() -> None:
    stands = PublishedVisit("repair", 0, 0, 1, ("ben", "cem", "zoe"), 100, crew_cost=7)  # Ann and Ben go
    moved = PublishedVisit("crane work", 0, 1, 4, ("dia",), 20, crew_cost=1_000)
    assert recompute_parts(replace(tiny(), published=(stands, moved)), hand_plan())["change"] == 2 * 7 + 20


def test_hired_people_cost_each_day_out_once() -> None:
    problem = with_people(tiny(), ann={"day_cost": 100}, dia={"day_cost": 7})
    assert recompute_parts(problem, hand_plan())["hired people"] == 3 * 100 + 7


def test_hand_over_counts_visits_with_nobody_of_the_one_before() -> None:
    problem = with_orders(tiny(), service={"hand_over_cost": 500}, repair={"hand_over_cost": 9})
    kept = hand_plan()  # Cem and Dia, then Ann and Cem
    other = with_visit(problem, kept, 3, people=("ann", "ben"))
    assert [recompute_parts(problem, plan)["hand-over"] for plan in (kept, other)] == [0, 500]
    learning = with_people(problem, cem={"learner": True})
    assert recompute_parts(learning, kept)["hand-over"] == 500  # a learner hands nothing over


def test_preferred_pairs_apart_count_by_day() -> None:
    pairs = (("ann", "cem"), ("ben", "ann"), ("dia", "ben"))
    problem = replace(tiny(), prefer=pairs, weights=replace(tiny().weights, pair_apart=30))
    # Monday: Ann and Cem in two teams, Ben and Dia too; Tuesday: all who are out in one team; Wednesday: Ben and Dia at home
    assert recompute_parts(problem, hand_plan())["pairs apart"] == 2 * 30


def test_who_leaves_after_the_regular_end_is_paid_for_the_time_away() -> None:
    late = tuple(replace(person, shifts=tuple(replace(s, regular_end=2) for s in person.shifts)) for person in tiny().people)
    plan = Plan(hand_plan().visits[1:2], ())  # leaves 15 minutes before slot 8 and is back 15 minutes after slot 16
    assert recompute_parts(replace(tiny(), people=late), plan)["overtime"] == 90 * 2 * 270


def test_the_price_of_a_stopped_neighbour_is_its_own_sites() -> None:
    problem = tiny()
    other = replace(problem.turbines[0], site="vale")
    problem = replace(
        problem,
        turbines=(other, *problem.turbines[1:]),
        price_cents={**problem.price_cents, "vale": (0,) * 60},
        night_cents={**problem.night_cents, "vale": (0,) * 3},
    )
    assert recompute_parts(problem, hand_plan())["lost energy"] == (7 + 8) * 3_000
