"""Plans side by side: figures counted by hand on the tiny farm, and plans on other grids."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Day, Problem, Weights
from scheduling.fortnight.side_by_side import Compared, Side, at_prices_of, figures, side_by_side
from tests.scheduling.fortnight import farms


def side(problem: Problem | None = None, plan: Plan | None = None, name: str = "one") -> Side:
    return Side(name, problem or farms.tiny(), plan or farms.hand_plan())


def test_the_hand_plan_by_hand() -> None:
    """See farms.hand_plan. Away: Monday 5 + 25 min each way round T2 (hops 25): (25 + 210 + 25) x 2 people; T1 (15 + 240 + 15)
    x 2; Tuesday T3 (30 + 240 + 30) x 3; Wednesday T1 (15 + 240 + 15) x 2. Hops: 5 + ceil(60 km / 60 km/h)."""
    found = figures(side(), side())
    assert found.visits == 4
    assert found.team_days == 4
    assert found.people_min == 2 * (25 + 210 + 25) + 2 * (15 + 240 + 15) + 3 * (30 + 240 + 30) + 2 * (15 + 240 + 15)
    assert found.travel_min == 2 * 50 + 2 * 30 + 3 * 60 + 2 * 30
    assert found.overtime_min == 2 * 15  # Cem and Dia are back at 15:15, their regular end is 15:00
    assert found.late == (("repair", 1), ("service", 1))
    assert found.left_out == ()
    assert found.value == farms.hand_plan().value == found.at_first_prices
    assert found.planned == ("crane work", "feeder", "inspection", "repair", "service")


def test_lost_energy_is_the_part_at_the_price() -> None:
    """Every MWh of the tiny farm costs 60 EUR."""
    assert figures(side(), side()).lost_mwh == pytest.approx(farms.hand_plan().parts["lost energy"] / 6000)


def test_other_weights_change_the_value_but_not_what_it_is_at_first_prices() -> None:
    dear = replace(farms.tiny(), weights=Weights(team_day=1_000_000))
    found = figures(side(dear), side())
    assert found.value == farms.hand_plan().value + 4 * (1_000_000 - 4_000)
    assert found.at_first_prices == farms.hand_plan().value


def test_other_dates_of_orders_count_as_in_the_first() -> None:
    later = farms.with_orders(farms.tiny(), repair={"due_day": 9, "late_cost": 0}, service={"left_out_cost": 7})
    assert figures(side(later), side()).value == farms.hand_plan().value - 10_000
    assert figures(side(later), side()).at_first_prices == farms.hand_plan().value


def test_an_order_the_first_does_not_know_keeps_its_own_price() -> None:
    less = replace(farms.tiny(), orders=farms.tiny().orders[:-1])
    assert at_prices_of(less, farms.tiny()).orders == farms.tiny().orders


def test_a_plan_beside_itself_differs_in_nothing() -> None:
    found = side_by_side([side(), side(name="other")])
    assert found.compared == (Compared(), Compared())
    assert found.figures[0] == found.figures[1]
    assert [date for date, _ in found.days] == ["2026-03-02", "2026-03-03", "2026-03-04"]
    assert all(cells[0] == cells[1] for _, cells in found.days)


def test_what_differs_is_named() -> None:
    plan = farms.hand_plan()
    moved = farms.with_visit(farms.tiny(), plan, 2, start=6)
    dropped = farms.priced(farms.tiny(), replace(moved, visits=moved.visits[1:], left_out=("feeder", "repair")))
    found = side_by_side([side(), side(plan=dropped, name="other")])
    assert [(one.kind, one.order) for one in found.compared[1].changes] == [
        ("moved", "crane work"), ("dropped", "feeder"), ("dropped", "repair"),
    ]  # fmt: skip
    assert found.figures[1].left_out == ("feeder", "repair")
    assert [len(cells) for _, (_, cells) in found.days] == [1, 1, 1]


def on_other_days(problem: Problem, slots_later: int) -> Problem:
    """The same days with a grid that begins some slots earlier; the plan's clock times stay."""
    days = tuple(
        Day(d.date, d.start_min - 30 * slots_later, d.slots + slots_later, d.first_slot + slots_later * n, d.week)
        for n, d in enumerate(problem.days)
    )
    columns = sum(day.slots for day in days)
    return replace(
        problem, days=days, workable={"calm": farms.pack_members(farms.np.ones((4, columns), dtype=bool))},
        stop_mwh={"std": (0.5,) * columns}, price_cents={"hill": (6000,) * columns},
    )  # fmt: skip


def test_a_plan_on_another_grid_stands_at_the_same_clock_and_its_longer_days_are_no_difference() -> None:
    earlier = on_other_days(farms.tiny(), 2)
    plan = farms.hand_plan()
    later = replace(plan, visits=tuple(replace(visit, start=visit.start + 2) for visit in plan.visits))
    found = side_by_side([side(), Side("other", earlier, farms.priced(earlier, later))]).compared[1]
    assert found.changes == ()
    assert {one.kind for one in found.problem} <= {"person"}  # the same shifts now name later slots


def test_what_the_problems_differ_in_is_told() -> None:
    closed = farms.with_people(farms.tiny(), dia={"shifts": ()})
    found = side_by_side([side(), side(closed, name="other")]).compared[1]
    assert [(one.kind, one.what) for one in found.problem] == [("person", "dia")]


def test_only_what_is_shown_is_named() -> None:
    plan = farms.hand_plan()
    moved = farms.with_visit(farms.tiny(), plan, 2, start=6)
    found = side_by_side([side(), side(plan=moved, name="other")], lambda site: site != "hill")
    assert found.days == ()
    assert found.compared[1].changes == ()
    assert found.figures[1].planned == ()
    assert found.figures[1].value == moved.value, "money is the base's"
