"""Orders in the background."""

from __future__ import annotations

import logging

from celery import shared_task

from planner.models import Site
from workorders.services.orders import orders_raise_from_due

logger = logging.getLogger(__name__)


@shared_task  # type: ignore[untyped-decorator]
def orders_raise() -> int:
    """Raise orders from due work at every site; how many. Safe to run twice; one site's trouble leaves the others alone."""
    raised = 0
    for site in Site.objects.all():
        try:
            raised += len(orders_raise_from_due(site=site).raised)
        except Exception:
            logger.exception("No orders raised from due work at %s", site.code)
    return raised
