"""Addresses of the orders' pages."""

from __future__ import annotations

from django.urls import path

from workorders.views.order import OrderPage
from workorders.views.orders import OrdersPage
from workorders.views.raising import RaiseOrders

urlpatterns = [
    path("orders/", OrdersPage.as_view(), name="orders"),
    path("orders/raise/", RaiseOrders.as_view(), name="orders-raise"),
    path("orders/<int:pk>/", OrderPage.as_view(), name="order"),
]
