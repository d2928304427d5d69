"""The register in the admin site: searched, filtered, with history, and of everybody's own sites only."""

from __future__ import annotations

from planner.admin import calendars, intervals, people, procedures, sites, teams, turbines

__all__ = ["calendars", "intervals", "people", "procedures", "sites", "teams", "turbines"]
