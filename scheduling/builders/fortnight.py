"""The fortnight's problem of one base from its rows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet

from planner.choices import PairKind
from planner.errors import PlannerError
from planner.models import Base, Closure, RuleSet, Site, Turbine
from planner.selectors.due import DueItem, due_list, lapses_on
from scheduling.access import pack_members, workable
from scheduling.builders import energy, money, people
from scheduling.builders.access import ways_up
from scheduling.builders.behind import behind_of
from scheduling.builders.cells import MEMBERS, Cell
from scheduling.builders.elsewhere import taken_elsewhere
from scheduling.builders.equipment import equipment_of
from scheduling.builders.horizon import SLOT_MIN, Horizon, Span, horizon_of
from scheduling.builders.limits import OF_PROCEDURE, limit_set_of, sets_of
from scheduling.builders.locks import held_of
from scheduling.builders.orders import Ground, order_of, turbine_key, why_not_on, window_key
from scheduling.builders.places import hop_min, place_km
from scheduling.builders.published import published_of
from scheduling.builders.sequence import waits_of
from scheduling.builders.site_weather import site_weather
from scheduling.builders.stock import parts_from
from scheduling.choices import PlanState
from scheduling.fortnight.problem import Lodging, Problem, Rules
from scheduling.fortnight.problem import Turbine as TurbineRecord
from scheduling.models import VisitJob, WeatherSet
from scheduling.selectors.weather import age_h, is_stale, newest_forecast
from workorders.models import Order as OrderRow
from workorders.selectors.orders import order_list_to_plan


def fortnight_problem(*, base: Base, first_day: date, days: int, now: datetime, seed: int, drafts: Sequence[int] = ()) -> Problem:
    """Everything the fortnight's solver may know, frozen. `drafts`: plans of other bases that count beside the published ones.

    Raises PlannerError when a site has no forecast, or only a stale one, for people must not be sent up on it.
    """
    horizon = horizon_of(base, first_day, days)
    sites = list(base.sites.select_related("rule_set"))
    if not sites:
        raise PlannerError(f"{base} has no site: give a site this base first.", field="base")
    return Builder(base, sites, horizon, now, seed, drafts=drafts).problem()


@dataclass(frozen=True)
class AsItIs:
    """A fortnight's problem from the rows of this moment, and why an order may not be worked on a day (order id, day index)."""

    problem: Problem
    why_not: Callable[[str, int], str]


def fortnight_as_it_is(*, base: Base, first_day: date, days: int, now: datetime, seed: int) -> AsItIs:
    """The problem to hold a plan of these days against: as `fortnight_problem`, but shifts that have begun are whole."""
    horizon = horizon_of(base, first_day, days)
    builder = Builder(base, list(base.sites.select_related("rule_set")), horizon, now, seed, shifts_from=horizon.origin)
    problem = builder.problem()
    rows = {row.number: row for row in builder.rows}
    return AsItIs(problem, lambda number, day: why_not_on(rows[number], builder.ground, day))


def builder_of(*, base: Base, first_day: date, days: int, now: datetime, seed: int, drafts: Sequence[int] = ()) -> Builder:
    """The builder of a fortnight with its problem put together, for what the problem does not hold (see background.py)."""
    sites = list(base.sites.select_related("rule_set"))
    builder = Builder(base, sites, horizon_of(base, first_day, days), now, seed, drafts=drafts)
    builder.problem()
    return builder


class Builder:
    """Holds what the parts share while one problem is put together; `ground` once it is."""

    ground: Ground

    def __init__(
        self,
        base: Base,
        sites: list[Site],
        horizon: Horizon,
        now: datetime,
        seed: int,
        shifts_from: datetime | None = None,
        drafts: Sequence[int] = (),
    ) -> None:
        self.base, self.sites, self.horizon, self.now, self.seed = base, sites, horizon, now, seed
        self.shifts_from = shifts_from or now
        self.span = Span(horizon.origin, horizon.all_slots)
        self.rule_set: RuleSet = sites[0].rule_set
        self.rows = self._orders()
        self.taken = taken_elsewhere(base, horizon, self.rows, drafts)
        self.turbines = list(Turbine.objects.filter(site__base=base).select_related("site", "type"))
        self.closures = list(Closure.objects.filter(site__base=base))
        self.items: list[DueItem] = due_list(sites=sites, now=now)
        self.weather = {site.pk: site_weather(site, self._forecast(site), now=now) for site in sites}
        self.cells: dict[tuple[int, str], Cell] = {}
        self.technicians = people.technicians_of(base)
        self.told = published_of(base, horizon, {row.number for row in self.rows})
        self.held = held_of(base, horizon, self.told, {one.name for one in self.technicians})
        if horizon.index_of(now.astimezone(base.zone).date()) in self.held.frozen:
            # What has begun today stays too; nothing else can take the hours that have gone.
            self.shifts_from = horizon.origin
        self.used = self._used_turbines()

    def problem(self) -> Problem:
        """The parts, put together."""
        turbines, stop, night = self._turbines()
        prices = {site.code: energy.price_tables(site, self.horizon) for site in self.sites}
        self.ground = self._ground(stop, night)
        orders = tuple(order_of(row, self.ground) for row in self.rows)
        pairs = people.pairs_of(self.base, self.horizon)
        return Problem(
            name=f"{self.base} from {self.horizon.first_day}",
            origin=self.horizon.origin.isoformat(),
            slot_min=SLOT_MIN,
            days=self.horizon.grid(),
            base_x_km=0.0,
            base_y_km=0.0,
            speed_kmh=self.base.speed_kmh,
            hop_fixed_min=self.base.hop_fixed_min,
            turbines=turbines,
            people=people.people_of(self.base, self.horizon, self.shifts_from, self.rule_set.daily_rest_h),
            vehicles=people.vehicles_of(self.base),
            equipment=equipment_of(self.rows, self.horizon, self.taken),
            orders=orders,
            members=MEMBERS,
            workable=self._workable(),
            stop_mwh=stop,
            night_mwh=night,
            price_cents={code: table[0] for code, table in prices.items()},
            night_cents={code: table[1] for code, table in prices.items()},
            published=self.told.visits,
            together=pairs.get(PairKind.TOGETHER, ()),
            apart=pairs.get(PairKind.APART, ()),
            prefer=pairs.get(PairKind.GLADLY, ()),
            lodgings=self._lodgings(),
            standby_days=tuple(range(self.horizon.days)) if self.base.rescue_standby else (),
            day_weight=money.day_weights(self.base, self.horizon.days),
            weights=money.weights_of(self.base),
            currency=self.sites[0].currency,
            rules=self._rules(),
        )

    def _orders(self) -> list[OrderRow]:
        last_day = self.horizon.date_of(self.horizon.days - 1)
        rows = order_list_to_plan(base=self.base, first_day=self.horizon.first_day, last_day=last_day)
        return list(
            rows.exclude(pk__in=self._slotted_elsewhere())
            .select_related("procedure__limit_set")
            .prefetch_related(
                *(f"procedure__{name}" for name in OF_PROCEDURE),
                "procedure__skill_needs__skill",
                "procedure__part_needs__part__deliveries",
                "procedure__equipment_needs__equipment__bookings",
            )
        )

    def _slotted_elsewhere(self) -> QuerySet[VisitJob, int]:
        """Orders that published plans hold on other days from today on: planned once is enough.

        Days before this horizon, and plans that begin after it; the other plans will be replaced by this one.
        """
        today = self.now.astimezone(self.base.zone).date()
        before = Q(visit__day__gte=today, visit__day__lt=self.horizon.first_day)
        after = Q(visit__plan__first_day__gt=self.horizon.date_of(self.horizon.days - 1))
        jobs = VisitJob.objects.filter(before | after, visit__plan__base=self.base, visit__plan__state=PlanState.PUBLISHED)
        return jobs.values_list("order_id", flat=True)

    def _forecast(self, site: Site) -> WeatherSet:
        forecast = newest_forecast(site=site, at=self.now)
        if forecast is None:
            raise PlannerError(f"{site} has no forecast: import one before planning.", field="base")
        if is_stale(forecast, site, self.now):
            old = age_h(forecast, self.now)
            limit = f"more than the {site.stale_after_h:g} h allowed"
            raise PlannerError(f"The newest forecast of {site} is {old:.0f} h old, {limit}: import a newer one.", field="base")
        return forecast

    def cell(self, turbine: Turbine) -> Cell:
        """The weather at the turbine's hub; turbines of a site and height share it, save those that have learnt their own."""
        weather = self.weather[turbine.site_id]
        key = (turbine.site_id, weather.key(turbine))
        if key not in self.cells:
            self.cells[key] = weather.cell(turbine, self.span)
        return self.cells[key]

    def _used_turbines(self) -> list[Turbine]:
        """Turbines with an order, and those a feeder isolation would stop with them."""
        own = {row.turbine_id for row in self.rows}
        feeders = {(r.turbine.site_id, r.turbine.feeder) for r in self.rows if r.procedure.stops_feeder and r.turbine.feeder}
        return [one for one in self.turbines if one.pk in own or (one.site_id, one.feeder) in feeders]

    def _turbines(self) -> tuple[tuple[TurbineRecord, ...], dict[str, tuple[float, ...]], dict[str, tuple[float, ...]]]:
        dates = [self.horizon.date_of(day) for day in range(self.horizon.days)]
        shut = [lapses_on(self.items, day) for day in dates]
        self.ways = {one.pk: ways_up(one, shut, dates) for one in self.used}
        records: list[TurbineRecord] = []
        stop: dict[str, tuple[float, ...]] = {}
        night: dict[str, tuple[float, ...]] = {}
        for one in self.used:
            key = self._energy(one, stop, night)
            x_km, y_km = place_km(self.base, one)
            access = self.ways[one.pk].access
            records.append(TurbineRecord(turbine_key(one), one.site.code, x_km, y_km, key, access, one.feeder))
        return tuple(records), stop, night

    def _energy(self, one: Turbine, stop: dict[str, tuple[float, ...]], night: dict[str, tuple[float, ...]]) -> str:
        """The energy key of a turbine, its tables made on first use; a turbine that stands or cannot feed in has its own."""
        free = energy.grid_outage_days(one, self.closures, self.horizon)
        if any(row.turbine_id == one.pk and row.klass == "failure" for row in self.rows):
            free = set(range(self.horizon.days))
        key = turbine_key(one) if free else f"{one.site.code}/{one.type.name}/{self.weather[one.site_id].key(one)}"
        if key not in stop:
            stop[key], night[key] = energy.tables(energy.lost_on_slots(self.cell(one), one.type), self.horizon, free)
        return key

    def _ground(self, stop: dict[str, tuple[float, ...]], night: dict[str, tuple[float, ...]]) -> Ground:
        feeders: dict[tuple[int, str], tuple[str, ...]] = {}
        for one in self.used:
            at = (one.site_id, one.feeder)
            feeders[at] = (*feeders.get(at, ()), turbine_key(one))
        day_h = max((people.shift_hours(one) for one in self.technicians), default=8.0)
        return Ground(
            base=self.base,
            horizon=self.horizon,
            weather=self.weather,
            items=self.items,
            ways=self.ways,
            closures=self.closures,
            parts_from=parts_from(self.rows, self.taken.parts),
            standing_cost={row.turbine_id: self._standing(row) for row in self.rows if row.klass == "failure"},
            away_min={one.pk: self._away_min(one) for one in self.used},
            day_min=int(day_h * 60),
            break_min=self.rule_set.break_min,
            feeders=feeders,
            waits=waits_of(self.base, self.horizon, self.rows),
            behind=behind_of(self.rows, self.items, self.ways),
            held=self.held,
            taken=self.taken,
        )

    def _away_min(self, one: Turbine) -> int:
        """Minutes of the way there and back, each rounded up to slots, and one slot for rounding the stay."""
        return 2 * math.ceil(hop_min(self.base, one) / SLOT_MIN) * SLOT_MIN + SLOT_MIN

    def _standing(self, row: OrderRow) -> float:
        """What a standing turbine loses in a day, in the currency."""
        lost = energy.lost_on_slots(self.cell(row.turbine), row.turbine.type)
        return float(lost.sum()) / self.horizon.days * row.turbine.site.price_per_mwh

    def _lodgings(self) -> tuple[Lodging, ...]:
        rows = self.base.lodgings.all()
        return tuple(Lodging(one.name, *place_km(self.base, one), one.beds, round(one.night_cost * 100)) for one in rows)

    def _workable(self) -> dict[str, str]:
        columns = self.horizon.columns()
        tables: dict[str, str] = {}
        for row in self.rows:
            for code, limit_set in sets_of(row.procedure).items():
                key = window_key(row.turbine, self.weather[row.turbine.site_id].key(row.turbine), code)
                if key not in tables:
                    cell = self.cell(row.turbine)
                    good = workable(cell.fields, limit_set_of(limit_set), cell.daylight)
                    tables[key] = pack_members(good[:, columns])
        return tables

    def _rules(self) -> Rules:
        rules = self.rule_set
        return Rules(
            confidence=max(site.confidence for site in self.sites),
            min_team=rules.team_least,
            rescue_pair=rules.rescue_least,
            break_after_min=int(rules.break_after_h * 60),
            break_min=rules.break_min,
            rest_min=int(rules.daily_rest_h * 60),
            week_max_min=int(rules.week_max_h * 60),
            ladder_climbs_a_day=rules.ladder_climbs_a_day,
            climbs_a_day=rules.climbs_a_day,
            nights_in_row=rules.nights_in_row,
            cover_min=min((s.rule_set.cover_min for s in self.sites if s.rule_set.cover_min), default=0),
            max_stopped={site.code: site.most_stopped for site in self.sites if site.most_stopped},
        )
