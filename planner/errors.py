"""The one error class of services; the API and the pages show its message as it stands."""

from __future__ import annotations

from typing import Any


class PlannerError(Exception):
    """Something the user asked for cannot be done. `message` says why and what to do; `field` names the culprit."""

    status = 400
    code = "invalid"

    def __init__(self, message: str, *, field: str = "", extra: dict[str, Any] | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.extra = extra or {}


class NotAllowedError(PlannerError):
    """The person's role at the site does not carry this action."""

    status = 403
    code = "not allowed"


class ConflictError(PlannerError):
    """The row is not in the state the action needs; somebody was faster, or the step before is missing."""

    status = 409
    code = "conflict"


class StaleError(PlannerError):
    """The row changed since the caller read it (If-Match)."""

    status = 412
    code = "changed meanwhile"
