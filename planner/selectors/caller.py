"""Who asks: a user with their roles, read once."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django.db.models import QuerySet

from planner.models import Site
from planner.selectors.sites import roles_of, sites_for


class Caller:
    """A user and what they are at which site. A superuser counts as planner everywhere."""

    def __init__(self, user: Any) -> None:
        self.user = user

    @cached_property
    def roles(self) -> dict[int, str]:
        """Role by site id."""
        return roles_of(self.user)

    @cached_property
    def base_of_site(self) -> dict[int, int]:
        """Base id by site id, of the caller's sites."""
        return dict(self.sites.values_list("pk", "base_id"))

    @property
    def sites(self) -> QuerySet[Site]:
        """The sites the caller may see."""
        return sites_for(self.user)

    @property
    def is_member(self) -> bool:
        """Has a role somewhere, or is a superuser."""
        return bool(self.user.is_superuser or self.roles)

    def has_any(self, wanted: Iterable[str]) -> bool:
        """Holds one of these roles at some site."""
        return bool(self.user.is_superuser or set(self.roles.values()) & set(wanted))

    def has_at(self, site_id: int, wanted: Iterable[str]) -> bool:
        """Holds one of these roles at this site."""
        return bool(self.user.is_superuser or self.roles.get(site_id, "") in wanted)

    def sites_with(self, wanted: Iterable[str]) -> set[int]:
        """Ids of the sites where the caller holds one of these roles."""
        return {site for site, role in self.roles.items() if role in wanted}

    def bases_with(self, wanted: Iterable[str]) -> set[int]:
        """Ids of the bases of those sites."""
        return {self.base_of_site[site] for site in self.sites_with(wanted) if site in self.base_of_site}
