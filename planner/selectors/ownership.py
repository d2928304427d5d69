"""Which rows a caller sees and may write: one entry for each model, asked by lists, details, filters and related fields alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce
from typing import Any

from django.db.models import Model, Q, QuerySet

from planner.models import Membership, Site
from planner.selectors.caller import Caller


@dataclass(frozen=True)
class Shared:
    """Rows of no site: any member reads, a planner of any site writes."""

    def seen(self, caller: Caller) -> Q:
        """Everything for a member, nothing for a stranger."""
        return Q() if caller.is_member else Q(pk__in=[])

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """One of the roles at some site."""
        return caller.has_any(wanted)


@dataclass(frozen=True)
class OfSite:
    """Rows of a site, reached by `path`. With `optional`, rows without one are shared."""

    path: str
    optional: bool = False

    def seen(self, caller: Caller) -> Q:
        """Rows of the caller's sites."""
        own = Q(**{f"{self.path}__in": caller.sites})
        return own | (Shared().seen(caller) & Q(**{f"{self.path}__isnull": True})) if self.optional else own

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """One of the roles at the row's site."""
        site = reached(row, self.path)
        if site is None:
            return caller.has_any(wanted)
        return caller.has_at(site if isinstance(site, int) else site.pk, wanted)


@dataclass(frozen=True)
class OfBase:
    """Rows of a base: seen by members of its sites, written by their planners. With `shared`, any member sees them."""

    path: str
    shared: bool = False

    def seen(self, caller: Caller) -> Q:
        """Rows of the bases of the caller's sites."""
        return Shared().seen(caller) if self.shared else Q(**{f"{self.path}__in": caller.sites.values("base")})

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """One of the roles at a site of the base; a base without sites belongs to every planner."""
        base = reached(row, self.path)
        base_id: Any = base if isinstance(base, int) or base is None else base.pk
        if caller.user.is_superuser or base_id in caller.bases_with(wanted):
            return True
        return caller.has_any(wanted) and not Site.objects.filter(base_id=base_id).exists()


@dataclass(frozen=True)
class OfWholeBase(OfBase):
    """Rows that name things of all sites of a base at once: seen by whoever is a member of each of them."""

    def seen(self, caller: Caller) -> Q:
        """Rows of bases all of whose sites are the caller's."""
        elsewhere = Site.objects.exclude(pk__in=caller.sites.values("pk")).values("base")
        return super().seen(caller) & ~Q(**{f"{self.path}__in": elsewhere})


@dataclass(frozen=True)
class Sites:
    """A member sees the site; its planner writes it; a planner of a base opens a new site there."""

    def seen(self, caller: Caller) -> Q:
        """The caller's sites."""
        return Q(pk__in=caller.sites.values("pk"))

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """Role at the site, and its base among the caller's."""
        here = row.pk is None or caller.has_at(row.pk, wanted)
        return here and OfBase("base").written(row, caller, wanted)


@dataclass(frozen=True)
class Memberships:
    """Planners see and write the roles of their sites; everybody sees their own."""

    def seen(self, caller: Caller) -> Q:
        """Own rows, and those of the sites where the caller plans."""
        if caller.user.is_superuser:
            return Q()
        return Q(user=caller.user) | Q(site__in=caller.sites_with(("planner",)))

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """Planner of that site."""
        return OfSite("site").written(row, caller, wanted)


@dataclass(frozen=True)
class Users:
    """Accounts are named only by planners, and only those with a role at their sites."""

    def seen(self, caller: Caller) -> Q:
        """Members of the sites where the caller plans."""
        if caller.user.is_superuser:
            return Q()
        members = Membership.objects.filter(site__in=caller.sites_with(("planner",)))
        return Q(pk__in=members.values("user"))

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """Never here: accounts are the admin site's."""
        return False


Scope = Shared | OfSite | OfBase | OfWholeBase | Sites | Memberships | Users
_SCOPES: dict[type[Model], Scope] = {}


def scope_set(scope: Scope, *models: type[Model]) -> None:
    """State the scope of models; each app does it once for its own, in its selectors.scopes."""
    for model in models:
        _SCOPES[model] = scope


def scope_of(model: type[Model]) -> Scope:
    """The stated scope. A model without one is nobody's: KeyError, so that nothing is shown by oversight."""
    return _SCOPES[model]


def visible(rows: QuerySet[Any], caller: Caller) -> QuerySet[Any]:
    """The rows the caller may see."""
    return rows.filter(scope_of(rows.model).seen(caller))


def may_write(row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
    """Whether the caller's roles carry writing this row (saved or not)."""
    return scope_of(type(row)).written(row, caller, wanted)


def reached(row: Any, path: str) -> Any:
    """The row or id at the end of a lookup path such as turbine__site; None where a step is empty."""
    return reduce(lambda at, name: None if at is None else getattr(at, name, None), path.split("__"), row)
