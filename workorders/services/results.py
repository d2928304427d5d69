"""The answers to an order's steps."""

from __future__ import annotations

import math
from typing import Any

from django.db import transaction

from planner.choices import StepKind
from planner.clock import now_utc
from planner.errors import ConflictError, PlannerError
from planner.models import Step
from planner.services.access import require_role
from planner.services.rows import checked
from workorders.choices import State
from workorders.lifecycle import CREW
from workorders.models import Order, StepResult
from workorders.services.history import save_by

ANSWERABLE = (State.UNDER_WAY, State.FINISHED)
"""While the crew is at it, and after: what was taken without signal comes in late."""


@transaction.atomic
def step_result_record(*, order: Order, step: Step, by: Any, value: float | None = None, text: str = "") -> StepResult:
    """The answer to one step; given again it replaces the first, which stays in history.

    A reading needs a value, in the step's unit; a text or a photo needs text (for a photo, where it lies).
    """
    require_role(user=by, site=order.turbine.site, roles=CREW)
    _check(order, step, value, text)
    state = Order.objects.select_for_update().values_list("state", flat=True).get(pk=order.pk)
    if state not in ANSWERABLE:
        raise ConflictError(f"{order} is {state}: steps are answered once it is under way, until it is accepted.")
    result = StepResult.objects.filter(order=order, step=step).first() or StepResult(order=order, step=step)
    result.value, result.text, result.by, result.at = value, text.strip(), by, now_utc()
    save_by(checked(result), by)
    return result


def _check(order: Order, step: Step, value: float | None, text: str) -> None:
    if step.procedure_id != order.procedure_id:
        raise PlannerError(f"The step belongs to another procedure than {order.procedure}: choose one of it.", field="step")
    if value is not None and (isinstance(value, bool) or not math.isfinite(value)):
        raise PlannerError(
            f"value {value} is no number: give the reading{f' in {step.unit}' if step.unit else ''}.", field="value"
        )
    if step.kind == StepKind.READING and value is None:
        raise PlannerError(f"Step {step.number} is a reading: give value in {step.unit}.", field="value")
    if step.kind != StepKind.READING and value is not None:
        raise PlannerError(f"Step {step.number} asks for a {step.kind}, not for a value: leave it out.", field="value")
    if step.kind in (StepKind.TEXT, StepKind.PHOTO) and not text.strip():
        raise PlannerError(f"Step {step.number} asks for a {step.kind}: give text.", field="text")
