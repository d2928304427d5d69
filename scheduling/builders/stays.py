"""What a forecast says about stays that are planned already: the chance of each, when it could begin, and what binds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np

from planner.models import Site
from scheduling.access import LimitSet, binding_limit, chance, combine, down_by, first_start, workable
from scheduling.access.judge import judged_values
from scheduling.access.limits import Limit
from scheduling.access.windows import BoolArray
from scheduling.access.words import limit_name, limit_unit, where
from scheduling.builders.cells import Cell
from scheduling.builders.horizon import SLOT_MIN, Span, local_utc
from scheduling.builders.limits import limit_set_of, sets_of
from scheduling.builders.shifts import hours_of
from scheduling.builders.site_weather import site_weather
from scheduling.models import Visit, WeatherSet

SLOT = timedelta(minutes=SLOT_MIN)
ENDS_BEFORE = "the forecast ends before the stay does"


@dataclass(frozen=True)
class StayChance:
    """What one forecast says about one stay. `chance` is None where it does not tell; `why` says then what is unknown.

    first_start     first start within the team's shift from which a stay of this length reaches the confidence; None: no start
    down_by         when people who start as planned must be down, at the confidence, or their shift ends; None: no start then
    binds           what takes most members away, in words, where the chance is below the confidence
    codes, held_to  the limit sets that had to hold, and their limits as they stood
    """

    visit: Visit
    chance: float | None
    why: str
    first_start: datetime | None
    down_by: datetime | None
    binds: str
    codes: tuple[str, ...]
    held_to: tuple[str, ...]


def stay_chances(site: Site, forecast: WeatherSet, visits: Iterable[Visit]) -> list[StayChance]:
    """One for each visit (rows of `selectors.stay_calls`, with their joins), from the members the morning would draw."""
    teller = _Teller(site, forecast)
    return [teller.told(visit) for visit in visits]


def limits_of_visit(visit: Visit) -> tuple[tuple[str, ...], LimitSet]:
    """(codes of the limit sets of the visit's work, the one set that holds all of them). ValueError without a limit."""
    rows = {code: row for job in visit.jobs.all() for code, row in sets_of(job.order.procedure).items()}
    codes = tuple(sorted(rows))
    return codes, combine(limit_set_of(rows[code]) for code in codes)


def held_to(core: LimitSet) -> tuple[str, ...]:
    """The limits of a set in words that change when a limit does."""
    return tuple(_limit_words(limit) for limit in core.limits) + (("daylight",) if core.daylight else ())


def _limit_words(limit: Limit) -> str:
    averaging = f", {limit.averaging_min:g} min" if limit.windy else ""
    return f"{limit_name(limit)} {limit.op} {limit.kept_value:g} {limit_unit(limit)}{averaging}"


class _Teller:
    """The cells of one forecast, made on first use: one for each kind of weather and day."""

    def __init__(self, site: Site, forecast: WeatherSet) -> None:
        self.site, self.forecast, self.weather = site, forecast, site_weather(site, forecast)
        self.cells: dict[tuple[str, date], tuple[Span, Cell]] = {}

    def told(self, visit: Visit) -> StayChance:
        """Everything about one visit."""
        try:
            codes, core = limits_of_visit(visit)
        except ValueError as error:
            return StayChance(visit, None, str(error), None, None, "", (), ())
        span, cell = self._cell(visit)
        first, end = _slots_of(visit.starts_at, visit.ends_at, span)
        why = self._unknown(visit, cell, core, first, end)
        if why:
            return StayChance(visit, None, why, None, None, "", codes, held_to(core))
        good = workable(cell.fields, core, cell.daylight)
        chances = chance(good, end - first)
        asked = self.site.confidence
        opens, closes = _shift(visit, span, self.site.rule_set.daily_rest_h)
        begin = first_start(chances, asked, opens, max(opens, closes - (end - first) + 1))
        down = down_by(good, first, asked)
        called = float(chances[first])
        return StayChance(
            visit=visit,
            chance=called,
            why="",
            first_start=None if begin is None else span.start + begin * SLOT,
            down_by=None if down is None else span.start + min(down, max(end, closes)) * SLOT,
            binds="" if called >= asked - 1e-9 else _binds(cell, core, good, first, end),
            codes=codes,
            held_to=held_to(core),
        )

    def _cell(self, visit: Visit) -> tuple[Span, Cell]:
        key = (self.weather.key(visit.turbine), visit.day)
        if key not in self.cells:
            start, end = (local_utc(visit.day + timedelta(days=n), time(0), self.site.zone) for n in (0, 1))
            # The span and seed of the morning's problem, so that both pages tell the same chance.
            span = Span(start, -int((start - max(end, visit.ends_at)) // SLOT))
            self.cells[key] = span, self.weather.cell(visit.turbine, span)
        return self.cells[key]

    def _unknown(self, visit: Visit, cell: Cell, core: LimitSet, first: int, end: int) -> str:
        """What the limits ask for and the forecast does not tell, over the stay; "" where all is known."""
        if self.forecast.ends_at < visit.ends_at:
            return ENDS_BEFORE
        for limit in core.limits:
            try:
                values = judged_values(cell.fields, limit, core)
            except ValueError:
                return f"{limit_name(limit)} is not known at {where(limit.height)} height"
            if values is None or not np.isfinite(values[..., first:end]).all():
                return f"{limit_name(limit)} is not known all through the stay"
        return ""


def _slots_of(starts_at: datetime, ends_at: datetime, span: Span) -> tuple[int, int]:
    """The slots [first, end) that a stay touches."""
    return int((starts_at - span.start) // SLOT), -int((span.start - ends_at) // SLOT)


def _shift(visit: Visit, span: Span, rest_h: float) -> tuple[int, int]:
    """The slots [low, high) in which all of the visit's people are on shift, overtime included; those of the stay without any."""
    zone = visit.turbine.site.zone
    hours = [hours_of(person, visit.day, zone, rest_h) for person in visit.people.all()]
    if not hours:
        return _slots_of(visit.starts_at, visit.ends_at, span)
    opens, closes = max(one.starts for one in hours), min(one.ends for one in hours)
    return max(0, -int((span.start - opens) // SLOT)), max(0, int((closes - span.start) // SLOT))


def _binds(cell: Cell, core: LimitSet, good: BoolArray, first: int, end: int) -> str:
    """The limit that binds at the slot of the stay at which most members are lost."""
    worst = first + int(np.argmin(good[:, first:end].mean(axis=0)))
    found = binding_limit(cell.fields, core, worst, cell.daylight)
    if found is None:
        return "short spells in different hours"
    if found.variable == "daylight":
        return "dark"
    passed = f"limit {found.op} {found.limit:g} {found.unit} passed in {100 * found.blocked_share:.0f} % of members"
    return f"{found.name}: {passed}, middle {found.value:.1f} {found.unit}"


def by_visit(told: Sequence[StayChance]) -> dict[int, StayChance]:
    """visit id -> what is said of it."""
    return {one.visit.pk: one for one in told}
