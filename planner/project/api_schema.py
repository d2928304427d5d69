"""Names of the choice sets in the OpenAPI schema, where several tables call different sets by the same field."""

from __future__ import annotations

from drf_spectacular.settings import spectacular_settings

CHOICE_NAMES = {
    "DueState": "planner.due.STATES",
    "OrderState": "workorders.choices.State",
    "RunState": "scheduling.choices.RunState",
    "PlanState": "scheduling.choices.PlanState",
    "WorkKind": "planner.choices.WorkKind",
    "StepKind": "planner.choices.StepKind",
    "EquipmentKind": "planner.choices.EquipmentKind",
    "ClosureKind": "planner.choices.ClosureKind",
    "HoldKind": "workorders.choices.HoldKind",
    "RunKind": "scheduling.choices.RunKind",
    "SeriesKind": "scheduling.choices.SeriesKind",
}

spectacular_settings.apply_patches({"ENUM_NAME_OVERRIDES": CHOICE_NAMES})  # type: ignore[no-untyped-call]
