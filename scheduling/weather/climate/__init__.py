"""The wind climate of past years. Pure: standard library and NumPy only."""

from __future__ import annotations

from scheduling.weather.climate.past import Past, in_working_day, judged, stay_steps
from scheduling.weather.climate.scenarios import YearScenarios, scenarios_of, year_scenarios
from scheduling.weather.climate.tables import (
    LEAST_YEARS,
    MOST_UNKNOWN,
    WEEKS,
    OverYears,
    Table,
    joined,
    month_tables,
    over_years,
    week_tables,
)

__all__ = [
    "LEAST_YEARS",
    "MOST_UNKNOWN",
    "WEEKS",
    "OverYears",
    "Past",
    "Table",
    "YearScenarios",
    "in_working_day",
    "joined",
    "judged",
    "month_tables",
    "over_years",
    "scenarios_of",
    "stay_steps",
    "week_tables",
    "year_scenarios",
]
