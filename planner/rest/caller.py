"""Whose request it is, and the roles that carry writing."""

from __future__ import annotations

from typing import Any

from planner.choices import Role
from planner.selectors.caller import Caller

__all__ = ["CREW", "LEADS", "PLANNERS", "Caller", "caller_of"]

PLANNERS = (Role.PLANNER.value,)
LEADS = (Role.PLANNER.value, Role.LEAD.value)
CREW = (Role.PLANNER.value, Role.LEAD.value, Role.TECHNICIAN.value)


def caller_of(request: Any) -> Caller:
    """The request's caller, the same object for the whole request."""
    raw = getattr(request, "_request", request)
    caller: Caller | None = getattr(raw, "lull_caller", None)
    if caller is None or caller.user != request.user:
        caller = raw.lull_caller = Caller(request.user)
    return caller
