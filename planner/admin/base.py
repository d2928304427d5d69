"""What the admin pages of all three apps are made of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.forms import ModelForm
from django.utils.html import format_html

from planner.admin.forms import RowForm, ServiceForm
from planner.admin.history import HistoryPages
from planner.admin.scope import AnyAdmin, Scoped, ScopedFilter
from planner.cautions import CAUTION, LIMIT_PASSED

__all__ = [
    "Cautioned",
    "ChildAdmin",
    "NoAdd",
    "OnTurbine",
    "PlainAdmin",
    "ReadOnly",
    "RowAdmin",
    "RowInline",
    "ScopedFilter",
    "ServiceAdd",
    "WorkPage",
]

if TYPE_CHECKING:
    OwnAdmin = admin.ModelAdmin[Any]
    AnyInline = admin.TabularInline[Any, Any]
else:
    OwnAdmin = admin.ModelAdmin
    AnyInline = admin.TabularInline


class RowForms(Scoped):
    """Forms that know who asks."""

    form: type[ModelForm[Any]] = RowForm

    def get_form(self, request: Any, obj: Any = None, change: bool = False, **kwargs: Any) -> Any:
        """The form's class, told whom it serves."""
        form: Any = super().get_form(request, obj, change=change, **kwargs)
        form.allowed = staticmethod(lambda row: self.may_write(request, row, self.write_roles))
        form.by = request.user
        return form

    def save_model(self, request: Any, obj: Any, form: Any, change: bool) -> None:
        """What a service wrote is written."""
        if not isinstance(form, ServiceForm):
            super().save_model(request, obj, form, change)


class RowAdmin(RowForms, HistoryPages):
    """A table with history."""

    list_per_page = 100


class PlainAdmin(RowForms, OwnAdmin):
    """A table that keeps no history, because its rows are written once."""

    list_per_page = 100


class ChildAdmin(RowAdmin):
    """Rows that are edited within their parent. Their own pages are for looking through and for history: not in the index."""

    def get_model_perms(self, request: Any) -> dict[str, bool]:
        """None, so that the index leaves it out; the pages themselves ask as ever."""
        return {}


class RowInline(Scoped, AnyInline):
    """Children within their parent's page: who may change the parent changes them. Choices are read once, not once a row."""

    extra = 0
    show_change_link = True
    form = RowForm

    def formfield_for_foreignkey(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        """The choices as a list that every row shares."""
        field = super().formfield_for_foreignkey(db_field, request, **kwargs)
        if field is not None:
            blank = [] if field.required and db_field.has_default() else [("", "---------")]
            field.choices = [*blank, *((row.pk, field.label_from_instance(row)) for row in field.queryset)]
        return field

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """As the parent."""
        return self._parent_may(request, obj)

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        """As the parent."""
        return self._parent_may(request, obj)

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        """As the parent."""
        return self._parent_may(request, obj)

    def _parent_may(self, request: Any, parent: Any) -> bool:
        return self.admin_site.get_model_admin(self.parent_model).has_change_permission(request, parent)


class ServiceAdd(AnyAdmin):
    """Rows that a service makes from `add_form`; what a row says of itself afterwards is the change form's business."""

    add_form: type[ServiceForm] = ServiceForm
    add_fields: tuple[str, ...] = ()

    def get_form(self, request: Any, obj: Any = None, change: bool = False, **kwargs: Any) -> Any:
        """The service's form for a new row."""
        if obj is None:
            kwargs["form"] = self.add_form
        return super().get_form(request, obj, change=change, **kwargs)

    def get_fields(self, request: Any, obj: Any = None) -> Any:
        """What the service asks for."""
        return self.add_fields if obj is None else super().get_fields(request, obj)

    def get_readonly_fields(self, request: Any, obj: Any = None) -> Any:
        """Nothing of a new row."""
        return () if obj is None else super().get_readonly_fields(request, obj)

    def get_inlines(self, request: Any, obj: Any) -> Any:
        """Nothing hangs on a new row yet."""
        return [] if obj is None else super().get_inlines(request, obj)


class NoAdd(AnyAdmin):
    """Rows that only a service or their parent's page makes."""

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """Nobody."""
        return False


class ReadOnly(NoAdd):
    """Rows that services alone write."""

    def has_change_permission(self, request: Any, obj: Any = None) -> bool:
        """Nobody."""
        return False

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        """Nobody."""
        return False


class WorkPage(AnyAdmin):
    """Rows that have a page where the work is done; list and form lead there."""

    def page_of(self, row: Any) -> str:
        """Its address."""
        raise NotImplementedError

    def view_on_site(self, row: Any) -> str:
        """The button above the form."""
        return self.page_of(row)

    @admin.display(description="work page")
    def work_page(self, row: Any) -> str:
        """The link in the list."""
        return format_html('<a href="{}">open</a>', self.page_of(row))


class OnTurbine(AnyAdmin):
    """Rows of a turbine, with its site as a column."""

    @admin.display(ordering="turbine__site__code")
    def site(self, row: Any) -> str:
        """Of the turbine."""
        return str(row.turbine.site)


class Cautioned(AnyAdmin):
    """Pages that name a climb carry the caution."""

    change_list_template = "admin/planner/cautioned_list.html"
    change_form_template = "admin/planner/cautioned_form.html"

    def changelist_view(self, request: Any, extra_context: Any = None) -> Any:
        """The list."""
        return super().changelist_view(request, {**_cautions(), **(extra_context or {})})

    def changeform_view(self, request: Any, object_id: Any = None, form_url: str = "", extra_context: Any = None) -> Any:
        """The form."""
        return super().changeform_view(request, object_id, form_url, {**_cautions(), **(extra_context or {})})


def _cautions() -> dict[str, str]:
    return {"caution": CAUTION, "limit_passed": LIMIT_PASSED}
