"""Who may see which site, and as what."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from planner.choices import Role
from planner.models import Membership, Site


def sites_for(user: Any) -> QuerySet[Site]:
    """The sites a user may see, with base and rule set: all for a superuser, else those of their memberships."""
    sites = Site.objects.select_related("base", "rule_set")
    if not user.is_active:
        return sites.none()
    if user.is_superuser:
        return sites
    return sites.filter(memberships__user_id=user.pk)


def role_at(user: Any, site: Site) -> str:
    """The user's role at a site; "" for none. A superuser counts as planner."""
    if not user.is_active:
        return ""
    if user.is_superuser:
        return Role.PLANNER
    return Membership.objects.filter(user_id=user.pk, site=site).values_list("role", flat=True).first() or ""


def roles_of(user: Any) -> dict[int, str]:
    """site id -> role, of every site the user may see."""
    if user.is_active and not user.is_superuser:
        return dict(Membership.objects.filter(user_id=user.pk).values_list("site_id", "role"))
    return dict.fromkeys(sites_for(user).values_list("pk", flat=True), str(Role.PLANNER))
