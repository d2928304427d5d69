"""Down-by times of plans laid by rule, against a search by hand over every later slot."""

from __future__ import annotations

import pytest

from scheduling.bits import unpack_members
from scheduling.fortnight.down_by import down_by_slots
from scheduling.fortnight.due_order import due_order_plan
from tests.bench.tiny_cases import random_small


@pytest.mark.parametrize("seed", range(30))
def test_the_window_holds_until_then_and_not_a_slot_longer(seed: int) -> None:
    problem = random_small(seed)
    plan = due_order_plan(problem)
    orders = {order.id: order for order in problem.orders}
    for visit, slot in down_by_slots(problem, plan).items():
        assert slot >= visit.start + visit.slots
        first = problem.days[visit.day].first_slot
        tables = [
            unpack_members(problem.workable[orders[job.order].window], problem.members, problem.total_slots) for job in visit.jobs
        ]

        def share(until: int, first: int = first, tables: list = tables, start: int = visit.start) -> float:  # type: ignore[type-arg]
            return (
                sum(all(table[m, first + s] for table in tables for s in range(start, until)) for m in range(problem.members))
                / problem.members
            )

        assert share(slot) >= problem.rules.confidence - 1e-9
        ends = [s.end for p in problem.people if p.id in visit.people for s in p.shifts if s.day == visit.day]
        alone = not any(
            other.day == visit.day and other.start > visit.start and set(other.people) & set(visit.people)
            for other in plan.visits
        )
        if alone and slot < min(ends) - 3 and slot < problem.days[visit.day].slots:
            assert share(slot + 1) < problem.rules.confidence - 1e-9
