"""Weather, runs, plans, rounds and calls in the admin site: looked through, never typed. Only feeds are kept by hand."""

from __future__ import annotations

from scheduling.admin import error_fits, fleets, locks, plans, questions, rounds, runs, stay_calls, weather, what_ifs

__all__ = ["error_fits", "fleets", "locks", "plans", "questions", "rounds", "runs", "stay_calls", "weather", "what_ifs"]
