"""To whom each row of orders belongs."""

from __future__ import annotations

from planner.selectors.ownership import OfSite, scope_set
from workorders.models import Finding, Hold, Order, OrderLink, OrderMove, StepResult

scope_set(OfSite("turbine__site"), Order)
scope_set(OfSite("later__turbine__site"), OrderLink)
scope_set(OfSite("order__turbine__site"), Hold, Finding, StepResult, OrderMove)
