"""Logging in and out, for every member."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.views import LoginView, LogoutView

from planner.views.base import frame


class Login(LoginView):
    """Name and password, in the same frame as every page."""

    template_name = "planner/login.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """The form inside the frame."""
        return super().get_context_data(**frame(self.request, "Log in", **kwargs))


class Logout(LogoutView):
    """By POST only; leads back to the login page."""
