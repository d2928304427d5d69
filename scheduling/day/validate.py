"""Cross-checks of a day's problem; the first fault is raised as one sentence with the field and the cure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from math import isfinite
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from scheduling.day.problem import Problem


def validate(problem: Problem) -> None:
    """Raise ValueError with one sentence that names the record, the field and the cure."""
    for check in (_clock, _rules, _series, _limits, _measured, _stays, _people):
        for sentence in check(problem):
            raise ValueError(sentence)


def _clock(p: Problem) -> Iterator[str]:
    try:
        date.fromisoformat(p.date)
    except ValueError:
        yield f"date is {p.date!r}: give a day like 2026-03-29"
    try:
        origin = datetime.fromisoformat(p.origin)
    except ValueError:
        yield f"origin is {p.origin!r}: give a UTC time like 2026-03-28T23:00:00+00:00"
        return
    if origin.utcoffset() != timedelta(0):
        yield f"origin is {p.origin!r}: give it in UTC, ending in +00:00"
    try:
        ZoneInfo(p.zone)
    except (KeyError, ValueError, OSError):
        yield f"zone is {p.zone!r}: give a time zone like Europe/Berlin"
    if p.slot_min < 1 or p.slots < 1:
        yield "slot_min and slots must be 1 or more"


def _rules(p: Problem) -> Iterator[str]:
    if not 0.0 < p.confidence <= 1.0:
        yield f"confidence is {p.confidence}: give a share above 0 and at most 1"
    if not p.stale_after_h > 0 or p.reentry_min < 0:
        yield "stale_after_h must be above 0 and reentry_min 0 or more"
    if p.min_team < 2 or p.rescue_pair < 2:
        yield "min_team and rescue_pair must be 2 or more: never fewer than two people up a turbine"
    if p.daylight is not None and p.daylight[0] > p.daylight[1]:
        yield "daylight must end after it begins"


def _series(p: Problem) -> Iterator[str]:
    members = {len(rows) for rows in p.series.values()}
    if len(members) > 1 or members == {0}:
        yield "series must all hold the same number of members, one or more"
    for name, rows in p.series.items():
        if any(len(row) != p.slots for row in rows):
            yield f"series {name!r} must hold {p.slots} slots in each member"


def _limits(p: Problem) -> Iterator[str]:
    for key, limits in p.limit_sets.items():
        if not limits:
            yield f"limit_sets[{key!r}] names no limit; add at least the wind limit"
        for limit in limits:
            if limit.op not in ("<=", "<", ">=", ">") or not isfinite(limit.value):
                yield f"limit_sets[{key!r}]: limit {limit.name!r} needs an op of <=, <, >=, > and a finite value"


def _measured(p: Problem) -> Iterator[str]:
    for name, readings in p.measured.items():
        times = [reading.at_min for reading in readings]
        if any(later <= earlier for earlier, later in pairwise(times)):
            yield f"measured[{name!r}]: readings must stand in order of time, each time once"
        if times and times[-1] > p.now_min:
            yield f"measured[{name!r}]: the last reading lies after now; check the clock of the instrument"


def _stays(p: Problem) -> Iterator[str]:
    seen: set[str] = set()
    for stay in p.stays:
        if stay.id in seen:
            yield f"stays: id {stay.id!r} stands twice; give each its own"
        seen.add(stay.id)
        if stay.by not in ("lift", "ladder"):
            yield f"stay {stay.id}: by is {stay.by!r}; give lift or ladder"
        if min(stay.up_min, stay.pack_min, stay.down_min) < 0 or stay.work_min < 1:
            yield f"stay {stay.id}: minutes up, pack and down must be 0 or more, work 1 or more"
        if stay.shift_start_min >= stay.shift_end_min:
            yield f"stay {stay.id}: the shift must end after it begins"
        if stay.limits not in p.limit_sets:
            yield f"stay {stay.id}: limits {stay.limits!r} is not in limit_sets"


def _people(p: Problem) -> Iterator[str]:
    for stay in p.stays:
        names = [person.name for person in stay.people]
        if len(set(names)) != len(names):
            yield f"stay {stay.id}: a person stands twice in the team"
