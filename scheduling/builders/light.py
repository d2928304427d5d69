"""Daylight at a site: sunrise and sunset of its days, polar day and night included."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from astral import Observer
from astral.sun import elevation, sun

from planner.models import Site
from scheduling.builders.horizon import SLOT_MIN, Span
from scheduling.weather.series import BoolArray


def daylight_on(site: Site, span: Span) -> BoolArray:
    """bool [slots]: the whole slot lies between sunrise and sunset. Polar night has none, polar day is all light."""
    first = span.start.astimezone(site.zone).date() - timedelta(days=1)
    light = [light_of(site, first + timedelta(days=n)) for n in range(span.slots * SLOT_MIN // 1440 + 3)]
    minutes = np.array([[_epoch_min(rise), _epoch_min(fall)] for rise, fall in light])
    starts = _epoch_min(span.start) + np.arange(span.slots) * SLOT_MIN
    day = np.searchsorted(minutes[:, 0], starts, side="right") - 1
    lit: BoolArray = starts + SLOT_MIN <= minutes[day, 1]
    return lit


def _epoch_min(moment: datetime) -> float:
    return moment.timestamp() / 60.0


def light_of(site: Site, day: date) -> tuple[datetime, datetime]:
    """(sunrise, sunset) of a local day; the whole day in polar day, an empty stretch at midnight in polar night."""
    return _light_at(site.latitude, site.longitude, site.time_zone, day)


@lru_cache(maxsize=8192)
def _light_at(latitude: float, longitude: float, zone: str, day: date) -> tuple[datetime, datetime]:
    place, local = Observer(latitude, longitude), ZoneInfo(zone)
    begin = datetime.combine(day, time(0), tzinfo=local)
    try:
        found = sun(place, date=day, tzinfo=local)
        return found["sunrise"], found["sunset"]
    except ValueError:
        # The sun does not rise or does not set that day: light all day if it stands above the horizon at noon.
        up = elevation(place, begin + timedelta(hours=12)) > 0
        return begin, begin + timedelta(days=1) if up else begin
