"""Every address under /api/v1/."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.urls import include, path, re_path
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView
from rest_framework.permissions import AllowAny
from rest_framework.response import Response
from rest_framework.routers import SimpleRouter
from rest_framework.views import APIView

import planner.api.urls
import scheduling.api.urls
import workorders.api.urls
from planner.rest.render import SafeJson

router = SimpleRouter()
for app in (planner.api.urls, workorders.api.urls, scheduling.api.urls):
    app.register(router)


@extend_schema(exclude=True)
class NowhereView(APIView):
    """An address that does not exist answers in the one shape too."""

    permission_classes = [AllowAny]
    renderer_classes = [SafeJson]

    def initial(self, request: Any, *args: Any, **kwargs: Any) -> None:
        """Nothing here, whatever the method."""
        raise Http404

    def get(self, request: Any) -> Response:
        """Never reached; `initial` answers."""
        raise Http404


urlpatterns = [
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", SpectacularSwaggerView.as_view(url_name="schema"), name="docs"),
    *planner.api.urls.PATHS,
    *scheduling.api.urls.PATHS,
    path("", include(router.urls)),
    re_path(r"^.*$", NowhereView.as_view(), name="nowhere"),
]
