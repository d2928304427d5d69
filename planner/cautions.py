"""The sentences that every page, job pack and answer naming a climb carries."""

from __future__ import annotations

CAUTION = (
    "Lull plans; it never authorises. Wind measured at the turbine and the competent person on site decide. Local rules, "
    "the maker's manual and licensed practice prevail."
)
LIMIT_PASSED = (
    "When a limit is passed: stop, make the work safe as the manual says, come down, tell the site office. "
    "Lightning near: leave the turbine at once if the way down is safe, otherwise stay clear of earthed parts as trained."
)
STALE = "The forecast is missing or too old. Nothing may be called workable from it; fetch a new one."
