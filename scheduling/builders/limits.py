"""Limit sets of the register as limit sets of the core."""

from __future__ import annotations

from planner.models import Limit as LimitRow
from planner.models import LimitSet as LimitSetRow
from planner.models import Procedure
from scheduling.access import Limit, LimitSet
from scheduling.access.limits import AT_HEIGHT, HUB


def limit_set_of(row: LimitSetRow) -> LimitSet:
    """The core's limit set (row with its limits prefetched). ValueError when it names no limit."""
    limits = tuple(
        Limit(
            variable=one.quantity,
            op=one.comparison,
            value=one.value,
            height=_height(one),
            averaging_min=one.averaging_min,
            clear_after_min=one.clear_after_min,
            offset_c=one.offset_c,
            metabolic_class=one.metabolic_class,
            acclimatised=one.acclimatised,
        )
        for one in row.limits.all()
    )
    return LimitSet(row.code, limits, daylight=row.daylight, gust_factor=row.gust_factor)


OF_PROCEDURE = ("limit_set__limits", "equipment_needs__equipment__limit_set__limits")
"""What `sets_of` asks of a procedure; prefetch it."""


def sets_of(procedure: Procedure) -> dict[str, LimitSetRow]:
    """code -> every limit set that holds while the procedure is done: its own first, then those of its equipment by code."""
    pieces = [need.equipment.limit_set for need in procedure.equipment_needs.all()]
    further = {row.code: row for row in pieces if row is not None}
    own = procedure.limit_set
    return {own.code: own, **{code: further[code] for code in sorted(further) if code != own.code}}


def _height(one: LimitRow) -> str | float | None:
    if one.quantity not in AT_HEIGHT:
        return None
    return HUB if one.at_hub else one.height_m
