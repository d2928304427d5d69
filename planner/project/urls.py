"""The table of contents: every address of Lull."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("planner.project.api_urls")),
    path("", include("planner.urls")),
    path("", include("workorders.urls")),
    path("", include("scheduling.urls")),
]
