"""Declared filters, ordering and search only; whatever else stands in the query is refused by name."""

from __future__ import annotations

from typing import Any

import django_filters
from django.db import models
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend, SearchFilter

from planner.models import Site
from planner.rest.caller import caller_of
from planner.rest.fields import NO_SUCH
from planner.selectors.ownership import visible

YES_NO = (("true", "true"), ("false", "false"))


class YesNoFilter(django_filters.TypedChoiceFilter):
    """true or false; "maybe" is refused instead of passed over."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, choices=YES_NO, coerce=lambda text: text == "true", **kwargs)


class RowFilterSet(django_filters.FilterSet):
    """Filters of a list; ids of related rows are looked for only among those the caller sees."""

    @classmethod
    def filter_for_lookup(cls, field: Any, lookup_type: str) -> Any:
        """Yes/no fields by our filter, the rest as django-filter does."""
        if isinstance(field, models.BooleanField) and lookup_type == "exact":
            return YesNoFilter, {}
        return super().filter_for_lookup(field, lookup_type)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for item in self.filters.values():
            if isinstance(item, django_filters.ModelChoiceFilter):
                rows = item.extra["queryset"]
                rows = rows.all() if isinstance(rows, models.Manager) else rows
                item.queryset = visible(rows, caller_of(self.request)) if self.request else rows.none()
                name = rows.model._meta.verbose_name
                item.extra["error_messages"] = {"invalid_choice": NO_SUCH.format(name=name)}


class DeclaredFilters(DjangoFilterBackend):
    """django-filter's backend; a view without a filter set has no filters."""


class DeclaredOrdering(BaseFilterBackend):
    """`ordering=name` or `-name`, from the view's `ordering_fields`."""

    def filter_queryset(self, request: Any, queryset: Any, view: Any) -> Any:
        """Order by what is asked; unknown names are refused."""
        asked = [name for name in request.query_params.get("ordering", "").split(",") if name]
        known = getattr(view, "ordering_fields", ())
        wrong = [name for name in asked if name.removeprefix("-") not in known]
        if wrong:
            raise ValidationError({"ordering": f"{wrong[0]!r} orders nothing: give {' or '.join(known) or 'no ordering'}."})
        return queryset.order_by(*asked) if asked else queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """For the OpenAPI schema."""
        known = getattr(view, "ordering_fields", ())
        if not known:
            return []
        values = [*known, *(f"-{name}" for name in known)]
        schema = {"type": "array", "items": {"type": "string", "enum": values}}
        about = "Order by these; a leading - turns it round."
        return [{"name": "ordering", "in": "query", "schema": schema, "explode": False, "description": about}]


class DeclaredSearch(SearchFilter):
    """`search=` only where the view names `search_fields`."""

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """For the OpenAPI schema."""
        return super().get_schema_operation_parameters(view) if getattr(view, "search_fields", None) else []


def known_params(view: Any) -> set[str]:
    """Query parameters that a view answers to."""
    if getattr(view, "query_serializer_class", None) is not None and view.request.method in ("GET", "HEAD"):
        extra = {"page", "page_size"} if getattr(view, "pages", False) else set()
        return set(view.query_serializer_class().fields) | extra
    action = getattr(view, "action", None)
    known = {"page", "page_size"} if view.request.method in ("GET", "HEAD") and action in view.paged_actions else set()
    if action != "list":
        return known
    filters = getattr(view, "filterset_class", None)
    known |= set(filters.base_filters) if filters else set()
    known |= {"ordering"} if getattr(view, "ordering_fields", ()) else set()
    return known | ({"search"} if getattr(view, "search_fields", None) else set())


def params_check(request: Any, view: Any) -> None:
    """Refuse unknown, empty and repeated query parameters, by name."""
    known = known_params(view)
    for name, values in request.query_params.lists():
        if name not in known:
            have = f"known are {', '.join(sorted(known))}" if known else "this address takes none"
            raise ValidationError({name: f"Unknown query parameter: {have}."})
        if len(values) > 1:
            raise ValidationError({name: "Given more than once: give it once."})
        if not values[0].strip() or "\x00" in values[0]:
            raise ValidationError({name: "Give a value, or leave it out."})


def filters_of(model: type[models.Model], *names: str, more: Any = None, **lookups: list[str]) -> type[RowFilterSet]:
    """A filter set over `names` (equality), `lookups` (field to its lookups) and filters made by hand in `more`."""
    fields: dict[str, list[str]] = {**{name: ["exact"] for name in names}, **lookups}
    meta = type("Meta", (), {"model": model, "fields": fields})
    return type(f"{model.__name__}Filters", (RowFilterSet,), {"Meta": meta, **(more or {})})


def site_filter(path: str) -> django_filters.ModelChoiceFilter:
    """A filter `site` over a site further away."""
    return django_filters.ModelChoiceFilter(field_name=path, queryset=Site.objects.all())
