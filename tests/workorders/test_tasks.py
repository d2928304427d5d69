"""The hourly sweep."""

from __future__ import annotations

import pytest

from planner.models import Site
from tests.farm import Farm
from workorders import tasks
from workorders.models import Order
from workorders.services.orders import RaiseReport, orders_raise_from_due


def test_every_site_and_safe_to_run_twice(farm: Farm) -> None:
    assert tasks.orders_raise() == 9 + 1
    assert tasks.orders_raise() == 0
    assert Order.objects.filter(turbine=farm.p1).count() == 1


def test_one_sites_trouble_leaves_the_others_alone(
    farm: Farm, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails_at_hill(*, site: Site) -> RaiseReport:
        if site == farm.hill:
            raise RuntimeError("no")
        return orders_raise_from_due(site=site)

    monkeypatch.setattr(tasks, "orders_raise_from_due", fails_at_hill)
    assert tasks.orders_raise() == 1
    assert "No orders raised from due work at HILL" in caplog.text
