"""Addresses of weather and planning under /api/v1/."""

from __future__ import annotations

from django.urls import path
from rest_framework.routers import BaseRouter

from scheduling.api import (
    calls,
    climate,
    comparison,
    feed_state,
    fleets,
    forecast_error,
    inspect,
    locks,
    morning,
    plans,
    questions,
    repairs,
    runs,
    shear,
    stay_calls,
    turbine_wind,
    weather,
    what_ifs,
    windows,
)

ROUTES = {
    "feeds": weather.FeedViewSet,
    "weather": weather.WeatherViewSet,
    "runs": runs.RunViewSet,
    "fleets": fleets.FleetViewSet,
    "plans": plans.PlanViewSet,
    "plan-questions": questions.QuestionViewSet,
    "visits": plans.VisitViewSet,
    "rounds": plans.RoundViewSet,
    "calls": calls.CallViewSet,
    "locks": locks.LockViewSet,
    "frozen-days": locks.FrozenDayViewSet,
    "turbine-winds": turbine_wind.TurbineWindViewSet,
    "error-fits": forecast_error.ErrorFitViewSet,
    "what-ifs": what_ifs.WhatIfViewSet,
    "stay-calls": stay_calls.StayCallViewSet,
}
PATHS = [
    path("weather/inspect/", inspect.InspectView.as_view(), name="weather-inspect"),
    path("climate/", climate.ClimateView.as_view(), name="climate-api"),
    path("what-ifs/compare/", comparison.ComparisonView.as_view(), name="comparison"),
    path("windows/", windows.WindowsView.as_view(), name="windows"),
    path("repairs/", repairs.RepairView.as_view(), name="repairs"),
    path("shear/", shear.ShearView.as_view(), name="shear"),
    path("morning/", morning.MorningView.as_view(), name="morning"),
    path("stay-scores/", stay_calls.SkillView.as_view(), name="stay-scores"),
    path("feed-states/", feed_state.FeedStateView.as_view(), name="feed-states"),
]


def register(router: BaseRouter) -> None:
    """Put weather and planning on the router."""
    for prefix, viewset in ROUTES.items():
        router.register(prefix, viewset, basename=prefix)
