"""May this person do this here?"""

from __future__ import annotations

from typing import Any

from planner.errors import NotAllowedError
from planner.models import Site
from planner.selectors.sites import role_at


def require_role(*, user: Any, site: Site, roles: tuple[str, ...]) -> str:
    """The user's role at the site, if it is one of `roles`; else NotAllowedError with a sentence that says whom to ask."""
    role = role_at(user, site) if user is not None else ""
    if role in roles:
        return role
    if not role:
        raise NotAllowedError("You have no role at this site; ask its planner to add you.")
    raise NotAllowedError(f"A {role} may not do this at {site.name}; ask a {' or '.join(roles)}.")
