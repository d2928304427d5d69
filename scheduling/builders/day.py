"""The morning's problem of one site from its published visits, its gates and people, and the newest forecast."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from math import ceil

import numpy as np

from planner import gates
from planner.models import CertificateKind, Site, Technician, Turbine
from planner.selectors.due import due_list, key_of, lapses_on
from scheduling.access import combine, judged_values, limit_name, limit_unit
from scheduling.access.limits import Limit as CoreLimit
from scheduling.access.limits import LimitSet as CoreLimitSet
from scheduling.builders.access import way
from scheduling.builders.cells import Cell
from scheduling.builders.horizon import SLOT_MIN, Span, local_utc
from scheduling.builders.light import light_of
from scheduling.builders.limits import limit_set_of, sets_of
from scheduling.builders.people import held_by
from scheduling.builders.places import hop_min
from scheduling.builders.shifts import hours_of, why_away
from scheduling.builders.site_weather import hub_key, site_weather
from scheduling.day.problem import Gate, Limit, Measured, Person, Problem, Stay
from scheduling.models import Visit
from scheduling.selectors.weather import newest_forecast, newest_observed, series_of
from scheduling.weather.height import to_hub

MEASURED_H = 3
"""Readings older than this say nothing about now."""
REENTRY_MIN = 20
"""Minutes of readings within the limits before going back up, where no limit asks for longer. Common practice, no source."""
Series = tuple[tuple[float | None, ...], ...]


def day_problem(*, site: Site, day: date, now: datetime, visits: Sequence[Visit]) -> Problem:
    """What the morning of `day` decides on for the visits of one site (rows with their joins).

    A missing forecast is part of the problem (nothing is go then), not an error.
    """
    return _Builder(site, day, now, visits).problem()


class _Builder:
    def __init__(self, site: Site, day: date, now: datetime, visits: Sequence[Visit]) -> None:
        self.site, self.day, self.now, self.visits = site, day, now, visits
        self.origin = local_utc(day, time(0), site.zone)
        end = local_utc(day + timedelta(days=1), time(0), site.zone)
        self.span = Span(self.origin, int((end - self.origin) / timedelta(minutes=SLOT_MIN)))
        self.forecast = newest_forecast(site=site, at=now)
        self.weather = site_weather(site, self.forecast, now=now) if self.forecast else None
        self.cells: dict[str, Cell] = {}
        self.shut = lapses_on(due_list(sites=[site], now=now), day)
        self.kinds = list(CertificateKind.objects.all())
        self.series: dict[str, Series] = {}
        self.limit_sets: dict[str, tuple[Limit, ...]] = {}
        self.measured: dict[str, tuple[Measured, ...]] = {}
        self.reentry_min = REENTRY_MIN

    def problem(self) -> Problem:
        """The parts, put together."""
        stays = tuple(self._stay(visit) for visit in self.visits)
        rules = self.site.rule_set
        rise, fall = light_of(self.site, self.day)
        issued = self.forecast.issued_at if self.forecast else None
        return Problem(
            date=self.day.isoformat(),
            zone=self.site.time_zone,
            origin=self.origin.isoformat(),
            slot_min=SLOT_MIN,
            slots=self.span.slots,
            now_min=self._minute(self.now),
            issue_min=self._minute(issued) if issued else None,
            series=self.series,
            limit_sets=self.limit_sets,
            stays=stays,
            measured=self.measured,
            daylight=(self._minute(rise), self._minute(fall)),
            confidence=self.site.confidence,
            stale_after_h=self.site.stale_after_h,
            reentry_min=self.reentry_min,
            min_team=rules.team_least,
            rescue_pair=rules.rescue_least,
        )

    def _minute(self, when: datetime) -> int:
        return int((when - self.origin) // timedelta(minutes=1))

    def _stay(self, visit: Visit) -> Stay:
        turbine, rules = visit.turbine, self.site.rule_set
        hop = hop_min(self.site.base, turbine)
        out, back = (hop_min(self.site.base, turbine, at) for at in (visit.sets_out_from, visit.sleeps_at))
        jobs = list(visit.jobs.all())
        up = way(turbine, visit.by)
        work = sum(job.work_min for job in jobs)
        pack = sum(job.order.procedure.pack_min for job in jobs)
        stay_slots = -(-(up.up_min + work + pack + up.down_min) // SLOT_MIN)
        if stay_slots * SLOT_MIN + 2 * hop > rules.break_after_h * 60:
            work += rules.break_min
        limits, daylight = self._limits(visit)
        people = list(visit.people.all())
        shift = self._shift(people, out, back)
        return Stay(
            id=str(visit.pk),
            team=", ".join(person.name for person in people),
            turbine=turbine.code,
            label="; ".join(job.order.procedure.name for job in jobs),
            by=visit.by,
            up_min=up.up_min,
            work_min=max(1, work),
            pack_min=pack,
            down_min=up.down_min,
            planned_start_min=self._minute(visit.starts_at),
            shift_start_min=shift[0],
            shift_end_min=shift[1],
            limits=limits,
            people=tuple(self._person(person) for person in people),
            uses=self._uses(visit),
            gates=self._gates(visit),
            daylight=daylight,
        )

    def _limits(self, visit: Visit) -> tuple[str, bool]:
        """The key of the visit's limits and whether it asks for daylight; series and limits are laid down on first use."""
        rows = {code: row for job in visit.jobs.all() for code, row in sets_of(job.order.procedure).items()}
        core = combine(limit_set_of(rows[code]) for code in sorted(rows))
        height = self.weather.key(visit.turbine) if self.weather else hub_key(visit.turbine)
        key = f"{' + '.join(sorted(rows))} at {height}"
        if key not in self.limit_sets:
            cell = self._cell(visit.turbine)
            self.limit_sets[key] = tuple(self._limit(key, limit, core, cell) for limit in core.limits)
            self._measure(key, core, visit.turbine.hub_height_m)
            self.reentry_min = max(self.reentry_min, *(ceil(limit.clear_after_min) for limit in core.limits if limit.windy), 0)
        return key, core.daylight

    def _cell(self, turbine: Turbine) -> Cell | None:
        if self.weather is None:
            return None
        key = self.weather.key(turbine)
        if key not in self.cells:
            self.cells[key] = self.weather.cell(turbine, self.span)
        return self.cells[key]

    def _limit(self, key: str, limit: CoreLimit, core: CoreLimitSet, cell: Cell | None) -> Limit:
        name = series_name(key, limit)
        if cell is not None:
            values = judged_values(cell.fields, limit, core)
            if values is not None:
                self.series[name] = _rows(np.broadcast_to(values, (cell.members, self.span.slots)))
        return Limit(limit_name(limit), name, limit.op, limit.kept_value, limit_unit(limit))

    def _measure(self, key: str, core: CoreLimitSet, hub_m: float) -> None:
        """Wind and gust measured in the last hours, carried to the hub, under the names of the limits they are held to."""
        observed = newest_observed(site=self.site, at=self.now)
        if observed is None or observed.ends_at < self.now - timedelta(hours=MEASURED_H):
            return
        series = series_of(observed)
        hub = to_hub([one for one in series if one.variable == "wind"], hub_m, self.site.shear_exponent)
        gust = next((hub.carry(one) for one in series if one.variable == "gust"), None)
        for limit in core.limits:
            found = {"wind": hub.series, "gust": gust}.get(limit.variable)
            if found is not None:
                recent = found.between(max(found.start, self.now - timedelta(hours=MEASURED_H)), found.end)
                pairs = zip(recent.times(), recent.usable(), strict=True)
                self.measured[series_name(key, limit)] = tuple(self._reading(when, value) for when, value in pairs)

    def _reading(self, when: np.datetime64, value: float) -> Measured:
        origin = np.datetime64(self.origin.replace(tzinfo=None), "m")
        return Measured(int((when - origin).astype(int)), None if np.isnan(value) else round(float(value), 2))

    def _shift(self, people: Iterable[Technician], out: int, back: int) -> tuple[int, int]:
        """Minutes between which the team may stand at the tower's foot: everybody's shift, less the way there and back."""
        starts, ends = [0], [self.span.slots * SLOT_MIN]
        for person in people:
            hours = hours_of(person, self.day, self.site.zone, self.site.rule_set.daily_rest_h)
            starts.append(self._minute(hours.starts))
            ends.append(self._minute(hours.ends))
        return max(starts) + out, max(min(ends) - back, max(starts) + out + 1)

    def _person(self, person: Technician) -> Person:
        held = held_by(person)
        base_kinds = [kind.code for kind in self.kinds if kind.base_certificate]
        why = gates.person_fit(held, self.day, base_kinds)
        away = why_away(person, self.day)
        why += [away] if away else []
        rescue = any(not gates.person_fit(held, self.day, [kind.code]) for kind in self.kinds if kind.rescue)
        return Person(person.name, not why, rescue, person.learner, " ".join(why))

    def _uses(self, visit: Visit) -> tuple[str, ...]:
        """Gates the visit goes through; an inspection that opens a gate does not ask for it."""
        opened = {gate for gate, lapses in self._shut_at(visit).items() if self._opens(visit, lapses)}
        uses = {"entry", "climbing"}
        if any(job.order.procedure.isolations.strip() for job in visit.jobs.all()):
            uses.add("isolation")
        return tuple(sorted(uses - opened))

    def _opens(self, visit: Visit, lapses: Sequence[gates.Lapse]) -> bool:
        orders = [job.order for job in visit.jobs.all()]
        keys = {key_of(order.interval_id, order.component_id) for order in orders if order.interval_id}
        return bool(lapses) and all(lapse.subject in keys for lapse in lapses)

    def _shut_at(self, visit: Visit) -> dict[str, list[gates.Lapse]]:
        return self.shut.get(visit.turbine_id, {})

    def _gates(self, visit: Visit) -> tuple[Gate, ...]:
        shut = self._shut_at(visit)
        return tuple(Gate("A lapsed inspection", gate, True, lapses[0].reason) for gate, lapses in shut.items())


def series_name(key: str, limit: CoreLimit) -> str:
    """The name under which a limit's values stand in the problem."""
    return f"{key}: {limit_name(limit)} {limit.op}"


def _rows(values: np.ndarray) -> Series:
    return tuple(tuple(None if np.isnan(x) else round(float(x), 3) for x in row) for row in values)
