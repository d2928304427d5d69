"""Addresses of orders under /api/v1/."""

from __future__ import annotations

from rest_framework.routers import BaseRouter

from workorders.api import links, views

ROUTES = {
    "orders": views.OrderViewSet,
    "order-links": links.OrderLinkViewSet,
    "holds": views.HoldViewSet,
    "findings": views.FindingViewSet,
    "results": views.ResultViewSet,
}


def register(router: BaseRouter) -> None:
    """Put orders on the router."""
    for prefix, viewset in ROUTES.items():
        router.register(prefix, viewset, basename=prefix)
