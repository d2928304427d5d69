"""Weather, runs, plans, rounds and the morning's calls."""

from scheduling.models.calls import Call
from scheduling.models.fleets import Fleet
from scheduling.models.locks import FrozenDay, Lock
from scheduling.models.plans import Plan, Visit, VisitJob
from scheduling.models.questions import PlanQuestion
from scheduling.models.rounds import Round, RoundItem
from scheduling.models.runs import Run
from scheduling.models.skill import ErrorFit, StayCall, TurbineWind
from scheduling.models.weather import WeatherFeed, WeatherSet
from scheduling.models.what_ifs import WhatIf

__all__ = [
    "Call",
    "ErrorFit",
    "Fleet",
    "FrozenDay",
    "Lock",
    "Plan",
    "PlanQuestion",
    "Round",
    "RoundItem",
    "Run",
    "StayCall",
    "TurbineWind",
    "Visit",
    "VisitJob",
    "WeatherFeed",
    "WeatherSet",
    "WhatIf",
]
