"""Addresses of the register's pages, of logging in and out, and of the own password."""

from __future__ import annotations

from django.urls import path
from django.views.generic import RedirectView

from planner.views.due import DuePage
from planner.views.login import Login, Logout, Password

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="today"), name="home"),
    path("login/", Login.as_view(), name="login"),
    path("logout/", Logout.as_view(), name="logout"),
    path("password/", Password.as_view(), name="password"),
    path("due/", DuePage.as_view(), name="due"),
]
