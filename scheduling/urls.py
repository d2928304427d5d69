"""Addresses of the pages about when, and by whom."""

from __future__ import annotations

from django.urls import path

from scheduling.views.climate import ClimatePage
from scheduling.views.fleet import FleetPage
from scheduling.views.fleet_lines import FleetProgress
from scheduling.views.fortnight import FortnightPage
from scheduling.views.questions import ComparePlans, VisitMoves, WaysIn
from scheduling.views.run_lines import RunProgress
from scheduling.views.today import TodayPage
from scheduling.views.weather import WeatherPage
from scheduling.views.what_if import WhatIfPage
from scheduling.views.year import YearPage

urlpatterns = [
    path("today/", TodayPage.as_view(), name="today"),
    path("weather/", WeatherPage.as_view(), name="weather"),
    path("year/", YearPage.as_view(), name="year"),
    path("climate/", ClimatePage.as_view(), name="climate"),
    path("fortnight/", FortnightPage.as_view(), name="fortnight"),
    path("fleet/", FleetPage.as_view(), name="fleet"),
    path("fleets/<int:pk>/progress/", FleetProgress.as_view(), name="fleet-progress"),
    path("what-if/", WhatIfPage.as_view(), name="what-if"),
    path("plans/<int:pk>/left-out/<str:key>/ways-in/", WaysIn.as_view(), name="ways-in"),
    path("plans/<int:pk>/visits/<str:key>/moves/", VisitMoves.as_view(), name="visit-moves"),
    path("plans/<int:pk>/compare/<int:other>/", ComparePlans.as_view(), name="plans-compared"),
    path("runs/<int:pk>/progress/", RunProgress.as_view(), name="run-progress"),
]
