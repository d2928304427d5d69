"""Whose rows an admin page shows and who changes them: the same scopes the API asks (planner.selectors.ownership).

Django's own model permissions play no part: the role at the row's site decides, a superuser counts as planner everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Model, QuerySet

from planner.rest.caller import PLANNERS, caller_of
from planner.rest.fields import NO_SUCH
from planner.selectors.ownership import may_write, visible

if TYPE_CHECKING:
    AnyAdmin = admin.ModelAdmin[Any]
    RelatedFilter = admin.RelatedFieldListFilter
else:
    AnyAdmin = object
    RelatedFilter = admin.RelatedFieldListFilter


def rows_for(site: admin.AdminSite, model: type[Model], request: Any) -> QuerySet[Any]:
    """The rows of a table that the caller may choose from, joined so far that their names cost nothing more."""
    rows = visible(model._default_manager.all(), caller_of(request))
    joins: tuple[str, ...] = getattr(site._registry.get(model), "joins", ())
    return rows.select_related(*joins) if joins else rows


def label_in(site: admin.AdminSite, row: Model) -> str:
    """What a row is called where one of many is chosen: as its table's page says."""
    page = site._registry.get(type(row))
    return page.label(row) if isinstance(page, Scoped) else str(row)


class Scoped(AnyAdmin):
    """Lists, forms, choices and deletions of one table, each within the caller's sites.

    `joins` is what names and columns follow; `unloaded` are columns of up to some megabytes that no page reads; `write_roles`
    are the roles that change rows.
    """

    joins: tuple[str, ...] = ()
    unloaded: tuple[str, ...] = ()
    write_roles: tuple[str, ...] = PLANNERS

    def get_queryset(self, request: Any) -> QuerySet[Any]:
        """The caller's rows, joined."""
        rows = visible(super().get_queryset(request), caller_of(request))
        rows = rows.select_related(*self.joins) if self.joins else rows
        return rows.defer(*self.unloaded) if self.unloaded else rows

    def label(self, row: Any) -> str:
        """What a row is called where one of many is chosen."""
        return str(row)

    def has_module_permission(self, request: Any) -> bool:
        """Members of a site."""
        return caller_of(request).is_member

    def has_view_permission(self, request: Any, obj: Any = None) -> bool:
        """Members of a site; which rows is the queryset's business."""
        return caller_of(request).is_member

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """One of the roles at some site; at which one, the form asks."""
        return caller_of(request).has_any(self.write_roles)

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        """One of the roles at the row's site."""
        return self.may_write(request, obj, self.write_roles)

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        """As for changing."""
        return self.may_write(request, obj, self.write_roles)

    def may_write(self, request: Any, row: Any, roles: Iterable[str]) -> bool:
        """Whether the caller's roles carry writing this row (None: some row). A row whose site is gone is nobody's."""
        caller = caller_of(request)
        if row is None or caller.user.is_superuser:
            return caller.has_any(roles)
        try:
            return may_write(row, caller, roles)
        except ObjectDoesNotExist:
            return False

    def formfield_for_foreignkey(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        """Choices are rows the caller sees; any other id gets one and the same answer."""
        kwargs.setdefault("queryset", rows_for(self.admin_site, db_field.remote_field.model, request))
        return self._chosen(super().formfield_for_foreignkey(db_field, request, **kwargs), db_field)

    def formfield_for_manytomany(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        """As for one."""
        kwargs.setdefault("queryset", rows_for(self.admin_site, db_field.remote_field.model, request))
        return self._chosen(super().formfield_for_manytomany(db_field, request, **kwargs), db_field)

    def _chosen(self, field: Any, db_field: Any) -> Any:
        if field is not None:
            name = db_field.remote_field.model._meta.verbose_name
            field.error_messages["invalid_choice"] = NO_SUCH.format(name=name).replace("give the id of", "choose")
            field.label_from_instance = partial(label_in, self.admin_site)
        return field


class ScopedFilter(RelatedFilter):
    """A list filter that names only rows the caller sees."""

    def has_output(self) -> bool:
        """A choice of one is left out, unless it was asked for: then it filters, rather than being passed over."""
        return super().has_output() or self.lookup_val is not None

    def field_choices(self, field: Any, request: Any, model_admin: Any) -> list[tuple[Any, Any]]:
        """(id, name) of the caller's rows."""
        return [
            (row.pk, label_in(model_admin.admin_site, row))
            for row in rows_for(model_admin.admin_site, field.remote_field.model, request)
        ]
