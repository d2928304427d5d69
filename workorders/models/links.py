"""An order that comes after another one."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from planner.models.base import Record, at_least
from workorders.models.orders import Order


class OrderLink(Record):
    """`later` begins once `earlier` is finished, and `least_gap_h` after that at the earliest (curing, cooling)."""

    earlier = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="later_links")
    later = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="earlier_links")
    least_gap_h = models.FloatField(default=0, help_text="Hours from the end of the earlier order to the start of the later one.")

    class Meta:
        ordering = ["later", "earlier"]
        verbose_name = "order of orders"
        verbose_name_plural = "orders of orders"
        constraints = [
            models.UniqueConstraint(fields=["earlier", "later"], name="order_link_once"),
            models.CheckConstraint(
                condition=~Q(earlier=F("later")),
                name="order_link_of_two",
                violation_error_message="later is the same order as earlier: choose another one.",
            ),
            at_least("least_gap_h", 0, "order_link_gap"),
        ]

    def __str__(self) -> str:
        return f"{self.later} after {self.earlier}"
