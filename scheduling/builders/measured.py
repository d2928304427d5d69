"""Stays held against the weather that was measured: would the whole stay have fitted inside its limits?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from scheduling.access import Field, LimitSet
from scheduling.access.judge import holds, judged_values
from scheduling.access.limits import HUB, MOST_CLEAR_MIN, Height, Limit
from scheduling.access.words import limit_name, limit_unit
from scheduling.models import WeatherSet
from scheduling.selectors.weather import series_of
from scheduling.weather.height import to_hub
from scheduling.weather.series import FloatArray
from scheduling.weather.slots import MAX_STEP_MIN

NOTHING_CAME = "no wind measured over the stay has come yet"
MINUTE = timedelta(minutes=1)
MOST_CLEAR = timedelta(minutes=MOST_CLEAR_MIN)


@dataclass(frozen=True)
class Stay:
    """What is scored: UTC times, hub height, limits; `dark` says that daylight was asked for and the stay left it."""

    starts_at: datetime
    ends_at: datetime
    hub_m: float
    limits: LimitSet
    dark: bool = False


@dataclass(frozen=True)
class Outcome:
    """`fitted` is None where it cannot be said; `why` says then what is missing.

    judged      each limit that was held against a measurement, with the worst value of the stay
    left_out    limits whose variable was not measured
    """

    fitted: bool | None
    why: str
    judged: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """What a row keeps of it."""
        return {"why": self.why, "judged": list(self.judged), "left_out": list(self.left_out)}


class Source:
    """One stored set of measurements over the days asked for, with its values against each limit kept once worked out."""

    def __init__(self, row: WeatherSet, exponent: float, first: datetime, last: datetime) -> None:
        self.feed_id, self.step_min, self.exponent = row.feed_id, row.step_min, exponent
        # A limit that asks to stay clear for a time looks back by a day at most.
        self.series = tuple(one.between(first - MOST_CLEAR, last + MOST_CLEAR) for one in series_of(row))
        self.start, self.end = self.series[0].start, self.series[0].end
        self.fields: dict[tuple[Height, float], dict[str, Field]] = {}
        self.values: dict[tuple[Limit, LimitSet, float], FloatArray | None] = {}

    def judged(self, limit: Limit, limits: LimitSet, hub_m: float) -> FloatArray | None:
        """float64 [steps]: what the limit is held against; None where its variable was not measured."""
        key = (limit, limits, hub_m)
        if key not in self.values:
            self.values[key] = self._judged(limit, limits, hub_m)
        return self.values[key]

    def _judged(self, limit: Limit, limits: LimitSet, hub_m: float) -> FloatArray | None:
        """A gust counts only where it was measured: mean wind times a factor is a guess. A step of hours tells no hour."""
        if self.step_min > MAX_STEP_MIN:
            return None
        fields = self._fields(limit.height, hub_m)
        if limit.variable == "gust" and "gust" not in fields:
            return None
        values = judged_values(fields, limit, limits)
        return None if values is None else np.asarray(values[0], dtype=np.float64)

    def _fields(self, height: Height, hub_m: float) -> dict[str, Field]:
        """Wind and gust carried to the limit's height, the rest as it is; a flagged value is unknown."""
        at_m = hub_m if height in (HUB, None) else float(height)  # type: ignore[arg-type]
        key = (height, at_m)
        if key not in self.fields:
            self.fields[key] = self._made(HUB if height is None else height, at_m)
        return self.fields[key]

    def _made(self, height: Height, at_m: float) -> dict[str, Field]:
        carried = to_hub([one for one in self.series if one.variable == "wind"], at_m, self.exponent)
        made = {"wind": self._field(carried.series.usable(), height, carried.series.averaging_min)}
        for one in self.series:
            if one.variable not in made:
                values = carried.carry(one) if one.variable == "gust" else one
                made[one.variable] = self._field(values.usable(), height if one.variable == "gust" else None, one.averaging_min)
        return made

    def _field(self, values: FloatArray, height: Height, averaging_min: float) -> Field:
        return Field(values[None, :], height, averaging_min, slot_min=self.step_min)


def outcome_of(stay: Stay, sources: Sequence[Source]) -> Outcome:
    """The outcome of a stay from the measurements that touch it, newest first.

    Of one feed the newest file that reaches over a minute speaks for it, also where it says that the value is no good: that is
    how a correction comes. Another feed fills what is missing. One missing or flagged value within the stay, and it is not
    known: had only stays with known bad minutes been counted, storms would be counted and calms left out.
    """
    if not sources:
        return Outcome(None, NOTHING_CAME)
    worst, left_out = [], []
    for limit in stay.limits.limits:
        values = _over_stay(stay, limit, sources)
        if values is None:
            left_out.append(limit_name(limit))
        else:
            worst.append((limit, values))
    missing = [f"{limit_name(limit)} {_gap(stay, values)}" for limit, values in worst if np.isnan(values).any()]
    judged = tuple(_told(limit, values) for limit, values in worst if not np.isnan(values).any())
    if not worst:
        return Outcome(None, "nothing that its limits ask for was measured", (), tuple(left_out))
    if missing:
        return Outcome(None, "; ".join(missing), judged, tuple(left_out))
    fitted = not stay.dark and all(holds(values, limit).all() for limit, values in worst)
    return Outcome(bool(fitted), "", (*judged, "the stay left daylight") if stay.dark else judged, tuple(left_out))


def _over_stay(stay: Stay, limit: Limit, sources: Sequence[Source]) -> FloatArray | None:
    """float64 [minutes of the stay]; NaN where nobody measured or the value is flagged. None where nobody has the variable."""
    minutes = -int((stay.starts_at - stay.ends_at) // MINUTE)
    merged, found = np.full(minutes, np.nan), False
    spoken: dict[int | None, np.ndarray] = {}
    for source in sources:
        values = source.judged(limit, stay.limits, stay.hub_m)
        if values is None:
            continue
        found = True
        offset = int((stay.starts_at - source.start) // MINUTE)
        step = (offset + np.arange(minutes)) // source.step_min
        inside = (step >= 0) & (step < len(values))
        before = spoken.setdefault(source.feed_id, np.zeros(minutes, dtype=bool))
        fill = inside & ~before & np.isnan(merged)
        merged[fill] = values[step[fill]]
        before |= inside
    return merged if found else None


def _gap(stay: Stay, values: FloatArray) -> str:
    """From when on, and how much of it, a value is missing."""
    unknown = np.isnan(values)
    if unknown.all():
        return "was not measured during the stay"
    first = stay.starts_at + int(np.argmax(unknown)) * MINUTE
    return f"missing or flagged for {int(unknown.sum())} of {len(values)} min, first at {first:%H:%M} UTC"


def _told(limit: Limit, values: FloatArray) -> str:
    worst = float(values.max() if limit.is_upper else values.min())
    mark = "held" if holds(values, limit).all() else "passed"
    return f"{limit_name(limit)} {'at most' if limit.is_upper else 'at least'} {worst:.1f} {limit_unit(limit)}, " + (
        f"limit {limit.op} {limit.kept_value:g} {mark}"
    )
