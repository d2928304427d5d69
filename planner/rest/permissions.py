"""Who may do what: members read, and each view names the roles that write."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Model
from rest_framework.permissions import SAFE_METHODS, BasePermission

from planner.errors import NotAllowedError
from planner.rest.caller import caller_of
from planner.selectors.ownership import may_write


class RolePermission(BasePermission):
    """Reading is for everybody who is logged in (lists show only their sites); writing asks for one of `view.write_roles`
    at some site here, and at the row's own site in `must_write`."""

    def has_permission(self, request: Any, view: Any) -> bool:
        """Logged in; with a role that carries the method."""
        if not request.user or not request.user.is_authenticated:
            return False
        if request.method in SAFE_METHODS:
            return True
        if not caller_of(request).has_any(view.write_roles):
            raise NotAllowedError(f"Your role does not carry this: ask a {' or '.join(view.write_roles)}.")
        return True


def must_write(row: Model, request: Any, roles: Iterable[str]) -> None:
    """Raise NotAllowedError unless the caller may write this row."""
    if not may_write(row, caller_of(request), roles):
        name = row._meta.verbose_name
        raise NotAllowedError(f"Your role there does not carry writing this {name}: ask a {' or '.join(roles)} of the site.")
