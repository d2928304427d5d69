"""Weather, runs, plans, rounds and the morning's calls."""

from scheduling.models.calls import Call
from scheduling.models.plans import Plan, Visit, VisitJob
from scheduling.models.rounds import Round, RoundItem
from scheduling.models.runs import Run
from scheduling.models.weather import WeatherFeed, WeatherSet

__all__ = ["Call", "Plan", "Round", "RoundItem", "Run", "Visit", "VisitJob", "WeatherFeed", "WeatherSet"]
