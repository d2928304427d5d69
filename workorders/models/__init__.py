"""Orders, their holds, step results, findings and moves."""

from workorders.models.links import OrderLink
from workorders.models.orders import Hold, Order, OrderMove
from workorders.models.results import Finding, StepResult

__all__ = ["Finding", "Hold", "Order", "OrderLink", "OrderMove", "StepResult"]
