"""Stable pages: whatever a list is ordered by, the primary key breaks ties."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.pagination import PageNumberPagination


class StablePages(PageNumberPagination):
    """Numbered pages of 50 (page_size up to 500). A row stands on one page only."""

    page_size_query_param = "page_size"
    max_page_size = 500

    def paginate_queryset(self, queryset: Any, request: Any, view: Any = None) -> Any:
        """Add the tiebreaker before cutting the page."""
        if isinstance(queryset, QuerySet):
            ordering = [*(queryset.query.order_by or queryset.model._meta.ordering or []), "pk"]
            queryset = queryset.order_by(*ordering)
        return super().paginate_queryset(queryset, request, view)
