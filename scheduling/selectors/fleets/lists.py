"""Fleets, newest first, and the bases somebody may plan."""

from __future__ import annotations

from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from planner.choices import Role
from planner.models import Base, Site
from planner.selectors.caller import Caller
from planner.selectors.ownership import visible
from scheduling.models import Fleet


def fleet_list(*, caller: Caller) -> QuerySet[Fleet]:
    """The fleets the caller may see: those all of whose sites are theirs (see selectors/scopes.py)."""
    return visible(Fleet.objects.select_related("asked_by"), caller).order_by("-asked_at", "-pk")


def bases_planned(user: Any) -> QuerySet[Base]:
    """The bases with a site, all of whose sites the user plans; None (the command line) plans every base."""
    bases = Base.objects.filter(Exists(Site.objects.filter(base=OuterRef("pk")))).order_by("name")
    if user is None:
        return bases
    own = Caller(user).sites_with((Role.PLANNER.value,))
    return bases.exclude(pk__in=Site.objects.exclude(pk__in=own).values("base"))
