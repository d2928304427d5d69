"""Plans, visits and runs as pages ask for them."""

from __future__ import annotations

from typing import Any

import pytest

from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan
from scheduling.selectors.plans import plan_list, plan_visits, run_list
from scheduling.services.publish import plan_draft
from tests.farm import Farm
from tests.scheduling.services import scenes


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with orders W-1 and W-2."""
    list(scenes.orders(farm))
    return farm


def draft(farm: Farm, made: Any = None, **more: Any) -> Plan:
    """A draft of a run that is done."""
    made = made or scenes.good_plan()
    run = scenes.run(farm, state="done", best=plan_to_json(made), value=made.value / 100, bound=100.0, **more)
    return plan_draft(run=run)


class TestSelectors:
    def test_lists_show_own_bases_only(self, rows: Farm) -> None:
        plan = draft(rows)
        assert list(plan_list(sites=[rows.hill])) == [plan]
        assert list(run_list(sites=[rows.hill])) == [plan.run]
        assert not plan_list(sites=[rows.plain]).exists()
        assert not run_list(sites=[rows.plain]).exists()

    def test_run_lists_leave_the_bulk_in_the_database(self, rows: Farm) -> None:
        draft(rows)
        (run,) = run_list(sites=[rows.hill])
        assert {"problem", "best", "trace", "error"} <= run.get_deferred_fields()

    def test_visits_take_as_many_queries_for_two_as_for_one(self, rows: Farm, django_assert_num_queries: Any) -> None:
        for made, visits in ((scenes.half_plan(), 1), (scenes.good_plan(), 2)):
            plan = draft(rows, made)
            with django_assert_num_queries(3):
                seen = [
                    (
                        v.turbine.site.code,
                        v.turbine.type.name,
                        [p.name for p in v.people.all()],
                        [j.order.procedure.name for j in v.jobs.all()],
                    )
                    for v in plan_visits(plan)
                ]
            assert len(seen) == visits
