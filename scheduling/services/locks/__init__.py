"""What planners hold fast, and letting it go again. The only writer of Lock and FrozenDay.

hold.py     visit_pin, team_pin, day_forbid and the like of a plan's visit   freeze.py   day_freeze
release.py  lock_release, day_release                                   refuse.py   what contradicts what, one sentence each
"""

from scheduling.services.locks.freeze import day_freeze
from scheduling.services.locks.hold import day_forbid, team_pin, visit_forbid_day, visit_hold_as_planned, visit_pin
from scheduling.services.locks.release import day_release, lock_release

__all__ = [
    "day_forbid",
    "day_freeze",
    "day_release",
    "lock_release",
    "team_pin",
    "visit_forbid_day",
    "visit_hold_as_planned",
    "visit_pin",
]
