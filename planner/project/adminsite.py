"""Django's admin site, named."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import admin
from django.contrib.admin.views.autocomplete import AutocompleteJsonView
from django.http import HttpRequest, HttpResponse


class Choices(AutocompleteJsonView):
    """Rows to choose from, named as their table's page names them in choices."""

    def serialize_result(self, obj: Any, to_field_name: str) -> dict[str, str]:
        """Id and label."""
        label = getattr(self.model_admin, "label", str)
        return {**super().serialize_result(obj, to_field_name), "text": label(obj)}


class LullAdminSite(admin.AdminSite):
    """Master data and history; the work pages share its base template."""

    site_header = "Lull"
    site_title = "Lull"
    index_title = "Register"
    site_url = "/"

    def autocomplete_view(self, request: HttpRequest) -> HttpResponse:
        """Choices with our labels."""
        return cast(HttpResponse, Choices.as_view(admin_site=self)(request))
