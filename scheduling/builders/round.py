"""The year's problem of one base from its rows: due work of the coming weeks, crew capacity, and past years as scenarios."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from planner.choices import ClosureKind, Trigger
from planner.due import add_months
from planner.errors import PlannerError
from planner.models import Base, Closure, Component, Equipment, Procedure, ProcedureSkill, Site, Technician, Turbine
from planner.selectors.due import DueItem, due_list
from scheduling.builders import people
from scheduling.builders.climate import DAY_WINDOW, Climate
from scheduling.builders.energy import closure_covers
from scheduling.builders.money import cost_of
from scheduling.builders.orders import equipment_there, turbine_key, window_key
from scheduling.builders.shifts import works_on
from scheduling.builders.site_weather import hub_key
from scheduling.weather.series import FloatArray
from scheduling.year.problem import EVERYBODY, Item, Problem, Week
from scheduling.year.problem import Equipment as EquipmentRecord
from scheduling.year.problem import Turbine as TurbineRecord
from workorders.services.raising import klass_of

PRODUCTIVE_SHARE = 0.7
"""Share of a shift spent at the turbine: the rest is the way, loading and waiting. Common practice, no source."""
ACCESS_H = 1.0
"""Standstill around the work itself: isolating, up, down, handing back. Common practice, no source."""

Rows = dict[str, tuple[tuple[float, ...], ...]]


@dataclass(frozen=True)
class Occurrence:
    """One time that an interval falls due on an asset within the horizon."""

    item: DueItem
    number: int
    opens: date
    due: date
    closes: date

    @property
    def key(self) -> str:
        """The item's id in the problem."""
        place = place_key(self.item.turbine, self.item.component)
        return f"{place} {self.item.interval.code} {self.due}"


def place_key(turbine: Turbine, component: Component | None) -> str:
    """What an item's id begins with: the turbine, and the component with its number, which tells alike ones apart."""
    return turbine_key(turbine) + (f" {component} #{component.pk}" if component else "")


def round_problem(*, base: Base, first_day: date, weeks: int) -> Problem:
    """Due work of `weeks` weeks from the Monday of first_day on.

    Raises PlannerError when the base has no site or nobody to do the work.
    """
    sites = list(base.sites.all())
    if not sites:
        raise PlannerError(f"{base} has no site: give a site this base first.", field="base")
    return _Builder(base, sites, first_day - timedelta(days=first_day.weekday()), weeks).problem()


def occurrences(item: DueItem, first: date, last: date) -> Iterator[Occurrence]:
    """Every time an item falls due up to `last`, as if each were done on its due day.

    A counter's later times hang on use that nobody has read yet, so only its next one is laid.
    """
    due = item.due
    if due.due is None or due.opens is None or due.closes is None or not item.interval.active:
        return
    early, late = due.due - due.opens, due.closes - due.due
    day, number = due.due, 0
    while day <= last:
        if day + late >= first or number == 0:
            yield Occurrence(item, number, day - early, day, day + late)
        if item.interval.trigger != Trigger.MONTHS:
            return
        number += 1
        day = add_months(due.due, int(item.interval.every) * number)


class _Builder:
    def __init__(self, base: Base, sites: list[Site], monday: date, weeks: int) -> None:
        self.base, self.sites, self.monday = base, sites, monday
        self.mondays = [monday + timedelta(weeks=n) for n in range(weeks)]
        self.last = self.mondays[-1] + timedelta(days=6)
        self.closures = list(Closure.objects.filter(site__base=base).exclude(kind=ClosureKind.GRID))
        self.technicians = people.technicians_of(base)
        items = due_list(sites=sites)
        self.found = [one for item in items for one in occurrences(item, monday, self.last)]
        self.procedures = self._procedures()
        self.groups = self._groups()
        self.absorbs = self._absorptions()

    def problem(self) -> Problem:
        """The parts, put together."""
        turbines = {one.item.turbine.pk: one.item.turbine for one in self.found}
        shares, lost, names = self._climate()
        cents: dict[str, tuple[tuple[int, ...], ...]] = {site.code: (self._prices(site),) for site in self.sites}
        return Problem(
            name=f"{self.base} from {self.monday}",
            weeks=tuple(Week(_label(monday), monday.isoformat(), self._capacity(monday)) for monday in self.mondays),
            turbines=tuple(TurbineRecord(turbine_key(t), t.site.code, _energy_key(t)) for t in turbines.values()),
            items=tuple(self._item(one) for one in self.found),
            scenarios=names,
            workable_share=shares,
            lost_mwh_per_stop_h=lost,
            price_cents=cents,
            equipment=self._equipment(),
            currency=self.sites[0].currency,
        )

    def _prices(self, site: Site) -> tuple[int, ...]:
        """Cents per MWh of every week: the flat price, or the mean of the hours in which people work."""
        opens, closes = (int(hour) for hour in DAY_WINDOW)
        hours = site.price_by_hour[opens:closes] if site.price_by_hour else [site.price_per_mwh]
        return (round(sum(hours) / len(hours) * 100),) * len(self.mondays)

    def _procedures(self) -> dict[int, Procedure]:
        wanted = {one.item.interval.procedure_id for one in self.found}
        rows = Procedure.objects.filter(pk__in=wanted).select_related("limit_set")
        joined = rows.prefetch_related("skill_needs__skill", "equipment_needs__equipment__bookings", "limit_set__limits")
        return {row.pk: row for row in joined}

    def _groups(self) -> dict[str, list[Technician]]:
        """Skill group -> the people in it who count (no learners)."""
        counted = [one for one in self.technicians if not one.learner]
        groups = {EVERYBODY: counted}
        for procedure in self.procedures.values():
            for need in procedure.skill_needs.all():
                able = [t for t in counted if any(h.skill_id == need.skill_id and h.level >= need.level for h in t.skills.all())]
                groups[_group(need)] = able
        return groups

    def _capacity(self, monday: date) -> dict[str, float]:
        hours: dict[str, float] = defaultdict(float)
        for group, members in self.groups.items():
            hours[group] = round(sum(self._hours(one, monday) for one in members), 2)
        return dict(hours)

    def _hours(self, one: Technician, monday: date) -> float:
        days = [monday + timedelta(days=n) for n in range(7)]
        return sum(works_on(one, day) for day in days) * people.shift_hours(one) * PRODUCTIVE_SHARE

    def _item(self, one: Occurrence) -> Item:
        interval, turbine = one.item.interval, one.item.turbine
        procedure = self.procedures[interval.procedure_id]
        horizon_days = len(self.mondays) * 7
        due_day, closes_day = (one.due - self.monday).days, (one.closes - self.monday).days
        cost = cost_of(self.base, turbine.site, klass_of((one.item,)), due_day, closes_day, horizon_days)
        team = procedure.team_min
        return Item(
            id=one.key,
            turbine=turbine_key(turbine),
            label=f"{procedure.name}, {turbine.code}",
            effort_person_h=procedure.effort_person_h,
            stop_h=round(procedure.effort_person_h / team + ACCESS_H, 2),
            limit=window_key(turbine, hub_key(turbine), procedure.limit_set.code),
            opens=self._week(one.opens),
            due=self._week(one.due),
            closes=self._week(one.closes),
            weeks=self._weeks(one, procedure),
            late_cost=cost.late_a_day * 7,
            left_out_cost=cost.left_out,
            team=team,
            skills={_group(need): need.count for need in procedure.skill_needs.all()},
            statutory=interval.statutory,
            equipment=tuple(need.equipment.name for need in procedure.equipment_needs.all()),
            absorbs=self.absorbs[one.key],
        )

    def _week(self, day: date) -> int:
        return (day - self.monday).days // 7

    def _weeks(self, one: Occurrence, procedure: Procedure) -> tuple[int, ...]:
        """Weeks with at least one working day that no closure covers and on which the equipment is there."""
        equipment = [need.equipment for need in procedure.equipment_needs.all()]
        closures = [closure for closure in self.closures if closure_covers(closure, one.item.turbine)]

        def open_on(day: date) -> bool:
            closed = any(closure.first_day <= day <= closure.last_day for closure in closures)
            return not closed and all(equipment_there(piece, day) for piece in equipment)

        return tuple(
            week
            for week, monday in enumerate(self.mondays)
            if any(open_on(monday + timedelta(days=weekday)) for weekday in range(5))
        )

    def _absorptions(self) -> dict[str, tuple[str, ...]]:
        """Item id -> what it may absorb: smaller work of the turbine whose window meets its own.

        What may itself be absorbed absorbs nothing, so that a ladder of services ends in one visit.
        """
        found = {one.key: [other for other in self.found if _may_absorb(one, other)] for one in self.found}
        inside = {other.key for others in found.values() for other in others}
        return {key: () if key in inside else tuple(other.key for other in others) for key, others in found.items()}

    def _equipment(self) -> tuple[EquipmentRecord, ...]:
        used: dict[str, Equipment] = {}
        for procedure in self.procedures.values():
            used |= {need.equipment.name: need.equipment for need in procedure.equipment_needs.all()}
        return tuple(EquipmentRecord(name, self._there(piece), capacity=5 * piece.capacity) for name, piece in used.items())

    def _there(self, piece: Equipment) -> tuple[int, ...]:
        days = [[monday + timedelta(days=n) for n in range(7)] for monday in self.mondays]
        return tuple(week for week, dates in enumerate(days) if any(equipment_there(piece, day) for day in dates))

    def _climate(self) -> tuple[Rows, Rows, tuple[str, ...]]:
        """Tables of the years that every used site knows."""
        found = {}
        climates = {site.pk: Climate(site) for site in self.sites}
        for one in self.found:
            turbine = one.item.turbine
            limit_set = self.procedures[one.item.interval.procedure_id].limit_set
            key = (window_key(turbine, hub_key(turbine), limit_set.code), _energy_key(turbine))
            if key not in found:
                found[key] = climates[turbine.site_id].years(turbine, limit_set)
        common = set.intersection(*(set(years.names) for years in found.values())) if found else set()
        names = tuple(sorted(common))
        shares: Rows = {}
        lost: Rows = {}
        for (window, energy), years in found.items():
            rows = [years.names.index(name) for name in names]
            shares[window] = tuple(self._row(years.workable_share[n]) for n in rows)
            lost.setdefault(energy, tuple(self._row(years.lost_mwh_h[n]) for n in rows))
        return shares, lost, names

    def _row(self, table: FloatArray) -> tuple[float, ...]:
        """The 53 ISO weeks laid onto the weeks of the horizon."""
        return tuple(round(float(table[monday.isocalendar().week - 1]), 5) for monday in self.mondays)


def _may_absorb(larger: Occurrence, smaller: Occurrence) -> bool:
    same = smaller.item.turbine.pk == larger.item.turbine.pk and smaller.item.due.key in larger.item.contains
    return same and smaller.opens <= larger.closes and larger.opens <= smaller.closes


def _label(monday: date) -> str:
    year, week, _ = monday.isocalendar()
    return f"{year}-W{week:02d}"


def _group(need: ProcedureSkill) -> str:
    return f"{need.skill.code} {need.level}"


def _energy_key(turbine: Turbine) -> str:
    return f"{turbine.site.code}/{turbine.type.name}/{turbine.hub_height_m:g} m"
