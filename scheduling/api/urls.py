"""Addresses of weather and planning under /api/v1/."""

from __future__ import annotations

from django.urls import path
from rest_framework.routers import BaseRouter

from scheduling.api import calls, climate, morning, plans, runs, shear, turbine_wind, weather, windows

ROUTES = {
    "feeds": weather.FeedViewSet,
    "weather": weather.WeatherViewSet,
    "runs": runs.RunViewSet,
    "plans": plans.PlanViewSet,
    "visits": plans.VisitViewSet,
    "rounds": plans.RoundViewSet,
    "calls": calls.CallViewSet,
    "turbine-winds": turbine_wind.TurbineWindViewSet,
}
PATHS = [
    path("climate/", climate.ClimateView.as_view(), name="climate-api"),
    path("windows/", windows.WindowsView.as_view(), name="windows"),
    path("shear/", shear.ShearView.as_view(), name="shear"),
    path("morning/", morning.MorningView.as_view(), name="morning"),
]


def register(router: BaseRouter) -> None:
    """Put weather and planning on the router."""
    for prefix, viewset in ROUTES.items():
        router.register(prefix, viewset, basename=prefix)
