"""The master problem of a wide site: routes by day and team size, people counted by number, skills and hours.

A round solves it with the routes known, prices every day's routes (pricing.py) and adds the best. `lagrange` gives the bound
that a set of prices proves by itself: it needs no trust in the linear solver, only the sums of this module.

Kept: complete, sequence, after, days, windows, shifts, breaks, hops, vehicles and seats, travel, overtime, equipment day rates,
rescue pairs, ladder climbs; by number: people and holders of each skill on a day, hours of a week of all, and of those who can
rescue. Left out, each of which can only make a plan dearer: who exactly goes, rest, pairs, overlaps on a turbine, isolations,
capacity of equipment, most stopped, money that depends on who goes.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.jobdays import JobDays
from scheduling.fortnight.rows import EURO, INF, in_euro, quiet
from scheduling.fortnight.teamsize import NOBODY, Needs, merged
from scheduling.fortnight.wide.pricing import Limits, Priced, Pricing, Rates
from scheduling.fortnight.wide.table import Table, Tables, Window
from scheduling.fortnight.wide.timed import Timed, Timer

LENT = 0.5
"""Share of the hours that could not be staffed which the next dives may use."""

MOST_ASKED = 2000
"""Routes of a table that are asked whether a team can do them; where there are more, all count as if one could."""

OFTEN = 2
"""Tables of a quick round in whose routes an order may be."""

PINNED = 50_000_000
"""Cents of leaving out what is pinned: no plan may, but the linear problem must have a solution before it has columns."""


@dataclass(frozen=True)
class Route:
    """A team's day: kinds (numbers, sorted), how many people, cents, minutes away, what they must hold together."""

    day: int
    size: int
    kinds: tuple[int, ...]
    cents: float
    away_min: int
    needs: Needs


class WideMaster(JobDays):
    """The master problem; `routes` and `bound` grow."""

    def __init__(self, facts: Facts, kinds: Kinds, seed: int) -> None:
        super().__init__(facts, kinds, PINNED)
        self.routes: list[Route] = []
        self._known: set[tuple[int, int, tuple[int, ...], int]] = set()
        self._people()
        order_rows.equipment(self)
        self.tables = Tables(facts, self.kinds)
        self.days: dict[int, list[Table]] = {d: found for d in range(facts.days) if (found := self.tables.of_day(d))}
        self.windows: dict[int, list[Window]] = {day: self.tables.windows(day) for day in self.days}
        self._links = {day: self._kind_links(day) for day in self.days}
        lp = in_euro(self.rows.model(0.0, integer=False))
        self._static(lp)
        self.highs = quiet(1, seed)
        self.highs.passModel(lp)
        self.by_columns()

    def _people(self) -> None:
        f = self.facts
        self.people_row = self.rows.add_rows(f.days, -INF, [float(m.bit_count()) for m in f.fit])
        weeks = [day.week for day in f.problem.days]
        self.week_row = self._hours(weeks, f.fit)
        self.rescue_row = self._hours(weeks, f.rescue)
        keys = sorted({(s, level) for kind in self.kinds for s, level, _ in kind.needs})
        most = {key: [float(f.holders(*key, day).bit_count()) for day in range(f.days)] for key in keys}
        self.skill_row = {key: self.rows.add_rows(f.days, -INF, most[key]) for key in keys}

    def _hours(self, weeks: list[str], who: list[int]) -> list[int]:
        """By day, the row of its week: hours away of all these people together."""
        f, rows = self.facts, dict[str, int]()
        for week in dict.fromkeys(weeks):
            out = 0
            for day, mask in enumerate(who):
                out |= mask if weeks[day] == week else 0
            hours = sum(max(0, f.week_left(i, week)) for i in f.members_of(out)) / 60.0
            rows[week] = int(self.rows.add_rows(1, -INF, hours)[0])
        return [rows[week] for week in weeks]

    def _kind_links(self, day: int) -> tuple[Ints, Ints]:
        pairs = [(k, self.job_day[job, day]) for k, kind in enumerate(self.kinds) if day in kind.fields for job in kind.jobs]
        return np.array([k for k, _ in pairs], np.int64), np.array([j for _, j in pairs], np.int64)

    # --- bound --------------------------------------------------------------------------------------------------------

    def _static(self, lp: highspy.HighsLp) -> None:
        """What `lagrange` needs of the rows and columns that are there from the start (cents)."""
        self.low, self.high = np.array(lp.row_lower_), np.array(lp.row_upper_)
        self._cost, self._most = np.array(lp.col_cost_) * EURO, np.array(lp.col_upper_)
        start = np.array(lp.a_matrix_.start_)
        self._column = np.repeat(np.arange(len(self._cost)), np.diff(start)[: len(self._cost)])
        self._row, self._value = np.array(lp.a_matrix_.index_), np.array(lp.a_matrix_.value_)

    def signed(self, price: Floats) -> Floats:
        """Prices without those that no row of their kind can have."""
        found: Floats = np.where(
            np.isneginf(self.low) & (price > 0), 0.0, np.where(np.isposinf(self.high) & (price < 0), 0.0, price)
        )
        return found

    def lagrange(self, price: Floats, savings: float) -> float:
        """The bound that signed prices prove, given what the days' routes could still save at them (0 or less)."""
        reduced = self._cost - np.bincount(self._column, weights=self._value * price[self._row], minlength=len(self._cost))
        ends = np.where(price > 0, self.low, np.where(price < 0, self.high, 0.0))
        return float((price * ends).sum() + (np.minimum(0.0, reduced) * self._most).sum() + savings)

    # --- rounds -------------------------------------------------------------------------------------------------------

    def by_columns(self) -> None:
        """Be ready for rounds: the primal simplex, for which a better route leaves the basis feasible."""
        self.highs.setOptionValue("simplex_strategy", 4)

    def by_bounds(self) -> None:
        """Be ready for dives: the dual simplex, for which a bound that moves leaves the basis dual feasible."""
        self.highs.setOptionValue("simplex_strategy", 1)

    def solve(self) -> Floats:
        """Solve the linear problem; gives the prices of its rows in cents."""
        self.highs.run()
        self.value = self.highs.getInfo().objective_function_value * EURO
        price: Floats = np.asarray(self.highs.getSolution().row_dual) * EURO
        return price

    def solved(self) -> bool:
        """Whether the last linear problem had a solution."""
        return bool(self.highs.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def orders_of(self, route: Route) -> set[int]:
        """Numbers of the orders that a route works on."""
        return {order for k in route.kinds for order, _, _ in self.kinds[k].jobs}

    def price(self, price: Floats, limits: Limits, many: int, stop: Callable[[], bool]) -> float:
        """Add the best routes of every day at signed prices; gives the bound they prove, -inf where it stopped early."""
        savings = 0.0
        for day in self.days:
            if stop():
                return -np.inf
            savings += self.price_day(day, price, limits, many)
        found = self.lagrange(price, savings)
        self.bound = max(self.bound, found)
        return found

    def spread(self, price: Floats, limits: Limits, many: int, rng: random.Random) -> None:
        """A quick round without a bound: one shift a day and size, and no order in more than a few of the round's routes."""
        days, used = list(self.days), dict[int, int]()
        rng.shuffle(days)
        for day in days:
            for table in self.days[day]:
                shut = [any(used.get(o, 0) >= OFTEN for o, _, _ in self.kinds[k].jobs) for k in table.kinds.tolist()]
                open_ = table.some(np.flatnonzero(~np.array(shut, bool)))
                if not len(open_.kinds):
                    continue
                rates, window = self._rates(day, table.size, price), rng.choice(self.windows[day])
                found = Pricing(self.facts, open_, window, rates).find(limits)
                at = len(self.routes)
                self._take_best(open_, window, rates, found, many)
                for order in {o for r in self.routes[at:] for k in r.kinds for o, _, _ in self.kinds[k].jobs}:
                    used[order] = used.get(order, 0) + 1

    def price_day(self, day: int, price: Floats, limits: Limits, many: int) -> float:
        """Add the day's best routes; gives what its teams could still save."""
        best: dict[int, float] = {}
        for table in self.days[day]:
            rates = self._rates(day, table.size, price)
            for window in self.windows[day]:
                found = Pricing(self.facts, table, window, rates).find(limits)
                found = self._fit(table, found)
                cents = found.cents + self._skill_cents(day, table, found.rows, price)
                least = min(float(cents.min(initial=0.0)), found.floor)
                best[table.size] = min(best.get(table.size, 0.0), least)
                self._take_best(table, window, rates, Priced(found.rows, cents, 0.0), many)
        return self._saving(day, best)

    def _fit(self, table: Table, found: Priced) -> Priced:
        """Without the routes that no team of this size can do: larger teams find them in their own table, or nobody can."""
        sizes, largest = self.tables.sizes, self.days[table.day][-1].size
        rows = np.flatnonzero(found.cents < -1.0)
        if len(rows) > MOST_ASKED:
            return found
        good = np.ones(len(found.cents), bool)
        for i in rows.tolist():
            needs = merged([self.kinds[table.kinds[k]].needs for k in found.rows[i].tolist() if k >= 0])
            least = sizes.least(table.day, needs, table.size)
            good[i] = least <= table.size or largest < least < NOBODY
        return Priced(found.rows[good], found.cents[good], found.floor)

    def _saving(self, day: int, best: dict[int, float]) -> float:
        """The most that teams could save: vehicles and people bound how many there are of each size."""
        people = self.facts.fit[day].bit_count()
        table = [0.0] * (people + 1)
        for _ in range(self.most_teams[day]):
            table = [min([table[n], *(table[n - s] + c for s, c in best.items() if s <= n)]) for n in range(people + 1)]
        return table[people]

    def _rates(self, day: int, size: int, price: Floats) -> Rates:
        prize = np.zeros(len(self.kinds))
        kinds, jobs = self._links[day]
        np.add.at(prize, kinds, -price[self.link[jobs]])
        pair = self.facts.problem.rules.rescue_pair
        team = -price[self.people_row[day]] * size - price[self.teams_row[day]]
        team -= sum(price[row] for row in self.vehicle_rows(day, size))
        minute = -(price[self.week_row[day]] * size + price[self.rescue_row[day]] * pair) / 60.0
        return Rates(prize, float(team), float(minute))

    def _skill_cents(self, day: int, table: Table, rows: Ints, price: Floats) -> Floats:
        """What the holders that each route asks for cost: for each skill the most that one of its visits asks for."""
        total = np.zeros(len(rows))
        for (skill, level), row in self.skill_row.items():
            if price[row[day]] < 0:
                counts = [
                    max((n for s, lv, n in self.kinds[k].needs if (s, lv) == (skill, level)), default=0) for k in table.kinds
                ]
                total -= price[row[day]] * np.array([*counts, 0], float)[rows].max(axis=1)
        return total

    def _take_best(self, table: Table, window: Window, rates: Rates, found: Priced, many: int) -> None:
        """The best routes, no visit in more than a few of them."""
        timer, used = Timer(self.facts, table, window, rates.minute), dict[int, int]()
        taken = 0
        for i in np.argsort(found.cents, kind="stable")[: 20 * many].tolist():
            if found.cents[i] > -1.0 or taken >= many:
                break
            rows = tuple(k for k in found.rows[i].tolist() if k >= 0)
            if max(used.get(k, 0) for k in rows) >= 3:
                continue
            timed = timer.best(rows)
            if timed is not None and self.take(table, timed):
                taken += 1
                used |= {k: used.get(k, 0) + 1 for k in rows}

    def take(self, table: Table, timed: Timed) -> bool:
        """Let the master use a route; False where it knows it, or where no team of its size can hold what it needs."""
        kinds = tuple(sorted(int(table.kinds[k]) for k in timed.rows))
        needs = merged([self.kinds[k].needs for k in kinds])
        key = (table.day, table.size, kinds, round(timed.cents) * 10_000 + timed.away_min)
        if key in self._known or self.tables.sizes.least(table.day, needs, table.size) > table.size:
            return False
        self._known.add(key)
        self._add(Route(table.day, table.size, kinds, timed.cents, timed.away_min, needs))
        return True

    # --- plans --------------------------------------------------------------------------------------------------------

    def left_cents(self, orders: set[int]) -> float:
        """Cents of leaving these orders out."""
        every = self.facts.problem.orders
        return sum(float(every[o].left_out_cost + self.facts.change_all[o]) for o in sorted(orders))

    def lend_hours(self, staffed: list[Route], left: list[Route]) -> None:
        """Weeks in which nobody could go on some routes have that much less time for the next dives, and the others all theirs.

        People's hours do not add up as those of one crowd do: an hour left here and there makes no day. Bounds are not touched,
        for `lagrange` knows the rows as they were.
        """
        pair = self.facts.problem.rules.rescue_pair
        for rows, people in ((self.week_row, 0), (self.rescue_row, pair)):
            used, lacking = dict.fromkeys(rows, 0.0), dict.fromkeys(rows, 0.0)
            for some, hours in ((staffed, used), (left, lacking)):
                for route in some:
                    hours[rows[route.day]] += (people or route.size) * route.away_min / 60.0
            for row in used:
                most = min(self.high[row], used[row] + LENT * lacking[row]) if lacking[row] else self.high[row]
                self.highs.changeRowBounds(row, -INF, float(most))

    def _add(self, route: Route) -> None:
        day, pair = route.day, self.facts.problem.rules.rescue_pair
        entries: dict[int, float] = {int(self.teams_row[day]): 1.0, int(self.people_row[day]): float(route.size)}
        for k in route.kinds:
            for job in self.kinds[k].jobs:
                entries[int(self.link[self.job_day[job, day]])] = -1.0
        entries |= dict.fromkeys(self.vehicle_rows(day, route.size), 1.0)
        entries[self.week_row[day]] = route.size * route.away_min / 60.0
        entries[self.rescue_row[day]] = pair * route.away_min / 60.0
        entries |= {int(self.skill_row[skill, level][day]): float(count) for skill, level, count in route.needs}
        rows, values = np.array(list(entries), np.int32), np.array(list(entries.values()))
        self.highs.addCol(route.cents / EURO, 0.0, INF, len(rows), rows, values)
        self.routes.append(route)
