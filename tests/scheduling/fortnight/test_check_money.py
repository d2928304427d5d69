"""The checker's count of a plan's money, against sums by hand on the tiny farm."""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import PublishedVisit
from tests.scheduling.fortnight.farms import hand_plan, priced, tiny


def test_the_money_of_the_plan_by_hand() -> None:
    assert recompute_parts(tiny(), hand_plan()) == {
        # slots at 3,000: repair 7 on T1 and T2; service 8; crane 8; service 8; T1 between visits 4 + 20 + 5 and two nights
        "lost energy": (14 + 8 + 8 + 8 + 29) * 3_000 + 2 * 24_000,
        "lateness": 10_000 + 10_000,  # repair one day (due -1, done 0), service one (due 1, done 2)
        "left out": 0,
        "likely aborts": 3 * 15_000 // 4,  # one chance in four, three people
        "travel": 60 * (2 * 50 + 2 * 30 + 3 * 60 + 2 * 30),
        "teams": 4 * 4_000,
        "overtime": 90 * 2 * 15,  # Cem and Dia are back at slot 16 and 15 minutes; regular end is slot 16
        "equipment": 80_000,
        "change": 0,
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
