"""Weather, runs, plans, rounds and calls in the admin site: looked through, never typed. Only feeds are kept by hand."""

from __future__ import annotations

from scheduling.admin import plans, rounds, runs, weather

__all__ = ["plans", "rounds", "runs", "weather"]
