"""A visit on every other day: against the optimum with it there, and the reasons where it cannot stand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.explain.background import Background, Shut
from scheduling.fortnight.explain.moves import Move, Moves, moves
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders, with_people

HUGE = 50_000_000


def clock(day: int, slot: int) -> str:
    return f"{7 + slot // 2:02}:{30 * (slot % 2):02}"


def best(problem: Problem) -> Plan:
    return solve(problem, Params(time_limit_s=20.0, threads=1)).plan


def small() -> Problem:
    """Repair and inspection only, both single visits."""
    return replace(tiny(), orders=tuple(o for o in tiny().orders if o.id in ("repair", "inspection")))


def by_day(found: Moves) -> dict[int, Move]:
    return {move.day: move for move in found.moves}


def test_each_day_costs_what_the_optimum_with_it_there_costs() -> None:
    problem = small()
    plan = best(problem)
    found = moves(problem, plan, "repair", clock=clock, keep_cents=0)
    here = next(v.day for v in plan.visits if v.jobs[0].order == "repair")
    assert set(by_day(found)) == {0, 1, 2} - {here}
    for day, move in by_day(found).items():
        there = best(with_orders(problem, repair={"days": (day,), "left_out_cost": HUGE}))
        assert move.cents == there.value - plan.value, day
        assert move.cents >= 0
    assert found.text.startswith("The cheapest other day: ")
    assert found.here.text.startswith("Mon 2 Mar, ")


def test_a_day_that_is_not_allowed_says_why() -> None:
    problem = with_orders(small(), repair={"days": (0, 2)})
    plan = best(problem)
    told = by_day(moves(problem, plan, "repair", clock=clock))[1]
    assert (told.cents, told.start) == (None, None)
    assert told.text == "Tue 3 Mar: not possible: repair may be worked on Mon 2 Mar, Wed 4 Mar only."
    known = Background(shut={"repair": {1: Shut("closure", "closed until 2026-03-03: kite nest")}})
    told = by_day(moves(problem, plan, "repair", background=known, clock=clock))[1]
    assert told.text == "Tue 3 Mar: not possible: closed until 2026-03-03: kite nest."


def test_a_day_without_people_says_so() -> None:
    shifts = {p.id: p.shifts for p in tiny().people}
    problem = with_people(small(), **{name: {"shifts": shifts[name][:2]} for name in shifts})
    plan = best(problem)
    told = by_day(moves(problem, plan, "repair", clock=clock))[2]
    assert told.cents is None
    assert told.text.startswith("Wed 4 Mar: not possible: On the days with enough chance at most 0 of 2 people are there")
    assert "off: Ann, Ben, Cem, Dia" in told.text


def test_a_visit_moves_with_what_rides_along() -> None:
    found = moves(tiny(), hand_plan(), "repair", clock=clock, steps=20)
    assert found.orders == ("repair", "feeder")
    for move in found.moves:
        assert move.cents is None or "feeder" not in {change.order for change in move.changes}


def test_a_visit_of_several_keeps_their_order() -> None:
    found = moves(tiny(), hand_plan(), "service", 1, clock=clock, steps=20)
    assert by_day(found)[0].cents is None  # its first visit must lie before, and there is no day before Monday
    with pytest.raises(ValueError, match="has no visit 5 in the plan"):
        moves(tiny(), hand_plan(), "service", 5)


def test_progress_and_stopping() -> None:
    seen: list[tuple[int, int]] = []
    moves(small(), best(small()), "repair", on_progress=lambda done, every: seen.append((done, every)))
    assert seen == [(1, 2), (2, 2)]
    assert moves(small(), best(small()), "repair", should_stop=lambda: True).moves == ()
