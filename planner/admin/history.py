"""History pages that are read only, show the caller's rows only, and cost the same for one version and for a hundred."""

from __future__ import annotations

from typing import Any

from django.contrib.admin.utils import unquote
from django.core.exceptions import PermissionDenied
from django.db.models import ForeignKey
from django.http import Http404
from simple_history.admin import SimpleHistoryAdmin

from planner.admin.scope import Scoped


class HistoryPages(Scoped, SimpleHistoryAdmin):
    """Who changed what, when. An old version is never put back: it would write past the services and past later changes."""

    def history_view(self, request: Any, object_id: str, extra_context: Any = None) -> Any:
        """The versions of one row."""
        self._must_see(request, unquote(object_id))
        return super().history_view(request, object_id, extra_context)

    def history_form_view(self, request: Any, object_id: str, version_id: str, extra_context: Any = None) -> Any:
        """One version, as it was."""
        if request.method not in ("GET", "HEAD"):
            raise PermissionDenied
        self._must_see(request, unquote(object_id))
        request.lull_past = True
        return super().history_form_view(request, object_id, version_id, extra_context)

    def revert_disabled(self, request: Any, obj: Any = None) -> bool:
        """Always."""
        return True

    def get_fieldsets(self, request: Any, obj: Any = None) -> Any:
        """A past version shows its plain fields: what hangs on the row today was not part of it."""
        if getattr(request, "lull_past", False):
            return [(None, {"fields": self._plain_fields()})]
        return super().get_fieldsets(request, obj)

    def get_readonly_fields(self, request: Any, obj: Any = None) -> Any:
        """A past version is not typed over."""
        return self._plain_fields() if getattr(request, "lull_past", False) else super().get_readonly_fields(request, obj)

    def set_history_delta_changes(self, request: Any, historical_records: Any, foreign_keys_are_objs: bool = True) -> None:
        """The changes from version to version; and each version's name, from what was joined already."""
        for record in historical_records:
            record.__dict__["history_object"] = self._as_it_was(record)
        super().set_history_delta_changes(request, historical_records, foreign_keys_are_objs)

    def _as_it_was(self, record: Any) -> Any:
        row = record.history_object
        for field in self.model._meta.concrete_fields:
            if isinstance(field, ForeignKey) and field.is_cached(record):
                field.set_cached_value(row, field.get_cached_value(record))
        return row

    def _plain_fields(self) -> list[str]:
        return [field.name for field in self.model._meta.concrete_fields if not field.primary_key]

    def _must_see(self, request: Any, object_id: str) -> None:
        """The row is the caller's; or it is gone, and was one of theirs to change."""
        try:
            pk = self.model._meta.pk.to_python(object_id)
        except Exception as error:
            raise Http404 from error
        if self.get_queryset(request).filter(pk=pk).exists():
            return
        last = self.model.history.filter(id=pk).order_by("-history_date", "-history_id").first()
        there = self.model._default_manager.filter(pk=pk).exists()
        if there or last is None or not self.may_write(request, last.instance, self.write_roles):
            raise Http404("There is no such row, or not for you.")
