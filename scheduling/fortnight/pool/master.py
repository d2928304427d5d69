"""The master problem over real people: which routes, each by which people, cover the orders at least cost.

Columns are (day, set of people, route); a round solves the linear problem, prices every route of every day for every set of
people that suits it, and adds the best. As all routes are counted out, the price check is complete: when nothing is left to
add, the value is the linear optimum, and at any moment value plus what the day's teams could still save is a bound.

Kept here: complete, sequence, after, days, windows, shifts, breaks, hops, who is fit, skills, rescue, pairs kept apart, one team
a day for each person, vehicles and seats, travel, overtime, equipment day rates, hours a week of each person (waiting between
visits left aside). Left out, each of which can only make a plan dearer: rest, who is named for a visit, pairs that must go
together, overlaps on a turbine, isolations, capacity of equipment, most stopped, ladder climbs, and money that depends on who
goes beside whom or on who went before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import highspy
import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.jobdays import JobDays
from scheduling.fortnight.pool.counting import Late, count_routes
from scheduling.fortnight.pool.day import NOTHING, Routes
from scheduling.fortnight.rows import EURO, INF, in_euro, quiet

PINNED = 50_000_000
"""Cents of leaving out what is pinned: no plan may, but the linear problem must have a solution before it has columns."""
SMALL = 1.0
"""Cents of reduced cost not worth a column; the bound gives them away for every team."""


@dataclass(frozen=True)
class Column:
    """A team's day: kinds (numbers, in no order), who, cents, least minutes away."""

    day: int
    mask: int
    kinds: tuple[int, ...]
    cents: float
    least_min: int


class Offer(NamedTuple):
    """People who may have a useful route: at least this reduced cost, the routes with their own reduced costs."""

    least: float
    routes: Routes
    group: int
    people: int
    reduced: Floats


class PoolMaster(JobDays):
    """The master problem. `round` grows it; `value` is its linear optimum, `bound` holds for every plan."""

    def __init__(self, facts: Facts, kinds: Kinds, seed: int, most: int, late: Late, hands: int = 1) -> None:
        super().__init__(facts, kinds, PINNED)
        self.columns: list[Column] = []
        self.entries: list[tuple[NDArray[np.int32], Floats]] = []
        self._known: dict[Column, int] = {}
        self._people()
        order_rows.equipment(self)
        self._same_place()
        self.days = count_routes(facts, self.kinds, most, late, hands)
        self._links = {day: self._kind_links(day) for day in self.days}
        self.highs = quiet(1, seed)
        self.base = in_euro(self.rows.model(0.0, integer=False))
        self.highs.passModel(self.base)
        self.highs.setOptionValue("simplex_strategy", 4)

    def _people(self) -> None:
        f = self.facts
        people = len(f.problem.people)
        self.person_row = self.rows.add_rows(f.days * people, -INF, 1.0).reshape(f.days, people)
        weeks = [day.week for day in f.problem.days]
        left = {w: [max(0, f.week_left(i, w)) / 60.0 for i in range(people)] for w in dict.fromkeys(weeks)}
        rows = {w: self.rows.add_rows(people, -INF, hours) for w, hours in left.items()}
        self.week_row = [rows[w] for w in weeks]

    def _same_place(self) -> None:
        """Stays on one turbine, and stays with one piece of equipment, follow each other: their slots fit into the day."""
        f = self.facts
        self.kind_rows: dict[int, list[tuple[int, int, float]]] = {day: [] for day in range(f.days)}
        for day, found in self.kind_rows.items():
            today = [k for k, kind in enumerate(self.kinds) if day in kind.fields]
            turbines = sorted({self.kinds[k].turbine for k in today})
            groups = [([k for k in today if self.kinds[k].turbine == t], 1) for t in turbines]
            groups += [
                ([k for k in today if e in self.kinds[k].equipment], item.capacity) for e, item in enumerate(f.problem.equipment)
            ]
            for some, capacity in groups:
                if len({o for k in some for o, _, _ in self.kinds[k].jobs}) <= capacity:
                    continue
                fields = [self.kinds[k].fields[day] for k in some]
                room = max(int(x.starts[-1]) + x.slots for x in fields) - min(int(x.starts[0]) for x in fields)
                row = int(self.rows.add_rows(1, -INF, float(capacity * room))[0])
                found += [(k, row, float(x.slots)) for k, x in zip(some, fields, strict=True)]

    def _kind_links(self, day: int) -> tuple[Ints, Ints]:
        pairs = [(k, self.job_day[job, day]) for k, kind in enumerate(self.kinds) if day in kind.fields for job in kind.jobs]
        return np.array([k for k, _ in pairs], np.int64), np.array([j for _, j in pairs], np.int64)

    # --- rounds -------------------------------------------------------------------------------------------------------

    def solve(self) -> Floats:
        """Solve the linear problem; gives the prices of its rows in cents."""
        self.highs.run()
        self.value = self.highs.getInfo().objective_function_value * EURO
        price: Floats = np.asarray(self.highs.getSolution().row_dual) * EURO
        return price

    def solved(self) -> bool:
        """Whether the last linear problem had a solution."""
        return bool(self.highs.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def round(self, many: int) -> float:
        """Solve, price everything, add the best columns of each day. Gives the most negative reduced cost."""
        price = self.solve()
        if not self.solved():
            return 0.0
        worst, saving = 0.0, 0.0
        for day in self.days:
            least = self.price_day(day, price, many)
            worst = min(worst, least)
            saving += (min(0.0, least) - SMALL) * self.most_teams[day]
        self.bound = max(self.bound, self.value + saving)
        return worst

    def price_day(self, day: int, price: Floats, many: int) -> float:
        """Least reduced cost of the day's columns; the best of them are added."""
        prize, person, hour = self._prices(day, price)
        offers: list[Offer] = []
        for routes in self.days[day]:
            cents = self._reduced(routes, day, price, prize)
            best = np.minimum.reduceat(cents, routes.first, axis=1)
            for g, members in enumerate(routes.members):
                part = routes.parts(g)
                timed = best[routes.classes[g], part] + (members @ hour)[:, None] * routes.away_min[part]
                value = timed.min(axis=1) + members @ person
                offers += [Offer(float(value[m]), routes, g, m, cents) for m in np.flatnonzero(value < -SMALL).tolist()]
        exact = self._exact(offers, person, hour, many)
        taken: dict[tuple[int, int], int] = {}
        for (cents_, i), offer in sorted(exact, key=lambda one: one[0][0]):
            key = (offer.routes.size, offer.group)
            if cents_ < -SMALL and taken.get(key, 0) < 3 and sum(taken.values()) < many:
                taken[key] = taken.get(key, 0) + 1
                self._take(day, offer.routes, offer.group, offer.people, i)
        return min((cents_ for (cents_, _), _ in exact), default=0.0)

    def _exact(self, offers: list[Offer], person: Floats, hour: Floats, many: int) -> list[tuple[tuple[float, int], Offer]]:
        """Offers with the reduced cost and number of their best route: the most promising ones, and all that might be least."""
        found: list[tuple[tuple[float, int], Offer]] = []
        least = -SMALL
        for offer in sorted(offers, key=lambda one: one.least):
            if len(found) >= 2 * many and offer.least >= least:
                break
            best = self._best_of(offer, person, hour)
            least = min(least, best[0])
            found.append((best, offer))
        return found

    def _best_of(self, offer: Offer, person: Floats, hour: Floats) -> tuple[float, int]:
        """Reduced cost and number of the best route of a signature for the offer's people."""
        routes, some = offer.routes, offer.routes.range(offer.group)
        members = routes.members[offer.group][offer.people]
        row = offer.reduced[routes.classes[offer.group][offer.people], some] + float(members @ hour) * routes.least_min[some]
        i = int(row.argmin())
        return float(row[i]) + float(members @ person), some.start + i

    def near(self, price: Floats, most: int) -> tuple[float, list[tuple[int, Routes, int, int, int]]]:
        """The columns of least reduced cost, at most so many, and what a plan with any other one costs at least.

        Each is (day, routes, signature, number of the people, route), to be given to `take_near`.
        """
        costs: list[Floats] = []
        names: list[tuple[int, Routes, int, int, Ints]] = []
        for day, sizes in self.days.items():
            prize, person, hour = self._prices(day, price)
            for routes in sizes:
                cents = self._reduced(routes, day, price, prize)
                for g, members in enumerate(routes.members):
                    some = routes.range(g)
                    for m in range(len(members)):
                        row = cents[routes.classes[g][m], some] + float(members[m] @ hour) * routes.least_min[some]
                        row = row + float(members[m] @ person)
                        at = np.argpartition(row, most)[:most] if len(row) > most else np.arange(len(row))
                        costs.append(row[at])
                        names.append((day, routes, g, m, some.start + at))
        every = np.concatenate(costs) if costs else np.zeros(0)
        limit = float(np.partition(every, most)[most]) if len(every) > most else INF
        found = [
            (day, routes, g, m, int(i))
            for cost, (day, routes, g, m, at) in zip(costs, names, strict=True)
            for i in at[cost < limit]
        ]
        others = min(0.0, float(every.min(initial=0.0))) * sum(self.most_teams)
        return self.value + limit + others, found

    def take_near(self, found: list[tuple[int, Routes, int, int, int]]) -> None:
        """Let the master use these columns."""
        for one in found:
            self._take(*one)

    def _prices(self, day: int, price: Floats) -> tuple[Floats, Floats, Floats]:
        """Prizes of the kinds (a last 0 for NOTHING), price of each person that day, price of each person's minute away."""
        prize = np.zeros(len(self.kinds) + 1)
        kinds, jobs = self._links[day]
        np.add.at(prize, kinds, -price[self.link[jobs]])
        for k, row, slots in self.kind_rows[day]:
            prize[k] += price[row] * slots
        hired = np.array(self.facts.company.day_cost, float)
        return prize, hired - price[self.person_row[day]], -price[self.week_row[day]] / 60.0

    def _reduced(self, routes: Routes, day: int, price: Floats, prize: Floats) -> Floats:
        """[classes, n]: cents less prizes, without the people's own prices."""
        gain = prize[routes.kinds].sum(axis=1)
        team = -price[self.teams_row[day]] - sum(price[row] for row in self.vehicle_rows(day, routes.size))
        found: Floats = routes.cents - gain + team
        return found

    def _take(self, day: int, routes: Routes, g: int, m: int, i: int) -> None:
        kinds = tuple(int(k) for k in routes.kinds[i] if k != NOTHING)
        cents = float(routes.cents[int(routes.classes[g][m]), i])
        if np.isfinite(cents):
            mask = routes.crews[g][m]
            cents += self.facts.company.hire_cents(mask)
            self.add(Column(day, mask, kinds, cents, int(routes.least_min[i])))

    def add(self, column: Column) -> int:
        """Let the master use a column, unless it knows it already; gives its number."""
        if column in self._known:
            return self._known[column]
        self._known[column] = len(self.columns)
        rows, values = self._entries(column)
        self.highs.addCol(column.cents / EURO, 0.0, INF, len(rows), rows, values)
        self.columns.append(column)
        self.entries.append((rows, values))
        return self._known[column]

    def _entries(self, column: Column) -> tuple[NDArray[np.int32], Floats]:
        """Rows that a column fills, and how much of them."""
        day, size = column.day, column.mask.bit_count()
        rows = [int(self.link[self.job_day[job, day]]) for k in column.kinds for job in self.kinds[k].jobs]
        values = [-1.0] * len(rows)
        people = self.facts.members_of(column.mask)
        more = [*(int(self.person_row[day, i]) for i in people), int(self.teams_row[day])]
        more += self.vehicle_rows(day, size)
        rows += [*more, *(int(self.week_row[day][i]) for i in people)]
        values += [1.0] * len(more) + [column.least_min / 60.0] * size
        for k, row, slots in self.kind_rows[day]:
            if k in column.kinds:
                rows.append(row)
                values.append(slots)
        total: dict[int, float] = {}
        for row, value in zip(rows, values, strict=True):
            total[row] = total.get(row, 0.0) + value
        return np.array(list(total), np.int32), np.array(list(total.values()))
