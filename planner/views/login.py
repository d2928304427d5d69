"""Logging in and out, and the own password, for every member."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.http import HttpResponse
from django.urls import reverse_lazy

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


class Password(PasswordChangeView):
    """A new password for oneself, against the old one. Other sessions of the account end."""

    template_name = "planner/password.html"
    success_url = reverse_lazy("home")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """The form inside the frame."""
        return super().get_context_data(**frame(self.request, "Change password", **kwargs))

    def form_valid(self, form: Any) -> HttpResponse:
        """Changed, and said on the page that comes next."""
        messages.success(self.request, "Your password is changed.")
        return super().form_valid(form)
