"""Lost energy of the tiny farm's plan, counted by hand."""

from __future__ import annotations

import pytest

from scheduling.demo.energy import compared, lost_by_order
from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.due_order import due_order_plan
from tests.bench.tiny_cases import random_small


@pytest.mark.parametrize("seed", range(20))
def test_the_orders_losses_are_the_plans_loss(seed: int) -> None:
    """Priced at one price for all hours, they sum to the checker's own part "lost energy" (other code)."""
    problem = random_small(seed)
    flat = {site: tuple(100 for _ in cents) for site, cents in problem.price_cents.items()}
    nights = {site: tuple(100 for _ in cents) for site, cents in problem.night_cents.items()}
    from dataclasses import replace

    priced = replace(problem, price_cents=flat, night_cents=nights)
    plan = due_order_plan(priced)
    assert sum(lost_by_order(priced, plan).values()) * 100 == pytest.approx(recompute_parts(priced, plan)["lost energy"], abs=1.0)


def test_against_itself_nothing_is_saved() -> None:
    problem = random_small(4)
    found = compared(problem, due_order_plan(problem))
    assert found["lost_energy_mwh"] == found["lost_energy_mwh_due_date_order"]
