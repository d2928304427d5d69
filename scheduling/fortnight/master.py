"""Routes put together: which teams' routes of which days cover the orders at least cost, people and vehicles counted.

The linear master problem is solved with the routes found so far; its prices for jobs go to the route pricing (routes.py),
which brings better routes, until none is left or time is up. Prices at any moment give a proven bound on every plan:
the value of the master at those prices, less what the cheapest routes of each day could still save.

Kept here: complete, sequence, after, team sizes, rescue, vehicles and seats, shifts, breaks, hops, travel, overtime, equipment
day rates; skills of each visit, and with whole numbers those of a route and of a day. Left to crewing: who exactly goes, pairs
kept together, turbine overlaps, isolations, capacity of equipment, hours per person, rest, climbs.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import highspy
import numpy as np

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import JobKey, Kind, Kinds
from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.jobdays import JobDays
from scheduling.fortnight.routes import DayNodes, Routes, Teams
from scheduling.fortnight.rows import EURO, INF, in_euro, quiet
from scheduling.fortnight.teamsize import NOBODY, TeamSizes, merged

MOST_LABELS = 32
MOST_WHOLE = 2000
"""Routes among which whole numbers are sought: those that the prices like best, and the first plan's."""
CALM = 0.6
"""How much of the last prices stays in the next ones while routes are sought: prices that jump bring routes of little use."""


@dataclass(frozen=True)
class Route:
    """One team's day: size of the team, (kind, start) in order, cents."""

    day: int
    size: int
    stops: tuple[tuple[Kind, int], ...]
    cents: float


class Master(JobDays):
    """The master problem. `run` a round; `bound` and `routes` grow."""

    def __init__(self, facts: Facts, kinds: Kinds, seed: int) -> None:
        super().__init__(facts, kinds, pinned_cents=0)
        self.team_sizes = TeamSizes(facts)
        self.routes: list[Route] = []
        self._unfit: list[bool] = []
        self.seeds = 0
        self._calm: Floats | None = None
        self._known: set[tuple[int, int, int, tuple[tuple[tuple[JobKey, ...], int], ...]]] = set()
        self._capacities()
        self._pricing()
        order_rows.equipment(self)
        self.highs = quiet(1, seed)
        self.highs.passModel(in_euro(self.rows.model(0.0, integer=False)))
        self.highs.setOptionValue("simplex_strategy", 4)  # primal: a better route leaves the basis feasible

    def _capacities(self) -> None:
        """People and vehicles of each day: rows that routes fill."""
        f = self.facts
        self.people_row = self.rows.add_rows(f.days, -INF, [float(m.bit_count()) for m in f.fit])
        weeks = [day.week for day in f.problem.days]
        left = {w: sum(max(0, f.week_left(i, w)) for i in self._out(w)) for w in dict.fromkeys(weeks)}
        rows = {w: int(self.rows.add_rows(1, -INF, minutes / 60.0)[0]) for w, minutes in left.items()}
        self.week_row = [rows[w] for w in weeks]
        keys = sorted({(s, level) for kind in self.kinds for s, level, _ in kind.needs})
        self.skill_row = {key: self._holder_rows(*key) for key in keys}

    def _holder_rows(self, skill: str, level: int) -> Ints:
        """People asked for who hold a skill, by day (a team keeps its people all day). Limited in `whole` only: the route
        program cannot pay a price once per team and skill, and a bound needs prices that it pays."""
        return self.rows.add_rows(self.facts.days, -INF, INF)

    def _out(self, week: str) -> list[int]:
        """People who may be out on some day of the week."""
        days = [d for d, day in enumerate(self.facts.problem.days) if day.week == week]
        return [i for i in range(len(self.facts.problem.people)) if any(self.facts.fit[d] >> i & 1 for d in days)]

    def away_min(self, route: Route) -> int:
        """Minutes from leaving base to coming back."""
        f = self.facts
        (first, start), (last, at) = route.stops[0], route.stops[-1]
        end = at + last.fields[route.day].slots
        return (end - start) * f.problem.slot_min + f.base_min[first.turbine] + f.base_min[last.turbine]

    def _pricing(self) -> None:
        orders = [tuple(o for o, _, _ in k.jobs) for k in self.kinds]
        self.days: dict[int, Routes] = {}
        self.node_links: dict[int, tuple[Ints, Ints]] = {}
        for day in range(self.facts.days):
            nodes = self._nodes(day)
            teams = self._team_kinds(day, sorted(set(nodes.team.tolist())))
            if len(nodes.kind) and len(teams.size):
                self.days[day] = Routes(self.facts, nodes, teams, orders)
                pairs = [(i, self.job_day[job, day]) for i, k in enumerate(nodes.kind.tolist()) for job in self.kinds[k].jobs]
                self.node_links[day] = (np.array([i for i, _ in pairs]), np.array([j for _, j in pairs]))

    def _nodes(self, day: int) -> DayNodes:
        least = {k: self.team_sizes.least(day, kind.needs, kind.team) for k, kind in enumerate(self.kinds) if day in kind.fields}
        found = [(k, self.kinds[k].fields[day]) for k, team in least.items() if team < NOBODY]
        count = [len(field.starts) for _, field in found]
        start = np.concatenate([field.starts for _, field in found]) if found else np.zeros(0, np.int64)
        order = np.argsort(start, kind="stable")
        spread = np.repeat(np.arange(len(found)), count)[order]
        kind = np.array([k for k, _ in found], np.int64)[spread]
        return DayNodes(
            day,
            kind,
            np.array([k.turbine for k in self.kinds], np.int64)[kind],
            start[order],
            np.array([field.slots for _, field in found], np.int64)[spread],
            np.array([field.has_break for _, field in found], bool)[spread],
            np.array([least[k] for k in kind.tolist()], np.int64),
            np.concatenate([field.cents for _, field in found])[order] if found else np.zeros(0),
            np.concatenate([field.chance for _, field in found])[order] if found else np.zeros(0),
        )

    def _team_kinds(self, day: int, sizes: list[int]) -> Teams:
        """Sizes x the different shifts of the day. A real team fits each of its people's shifts; the cheapest stands for it."""
        f = self.facts
        shifts = sorted({(s.start, s.end, s.regular_end) for i in f.members_of(f.fit[day]) for s in [f.shift[i][day]]})
        most = f.fit[day].bit_count()
        seats = max((v.seats for v in f.problem.vehicles), default=0)
        pairs = [(size, *shift) for size in sizes if size <= min(most, seats) for shift in shifts]
        table = np.array(pairs, np.int64).reshape(len(pairs), 4)
        return Teams(table[:, 0], table[:, 1], table[:, 2], table[:, 3])

    # --- rounds -------------------------------------------------------------------------------------------------------

    def round(self, many: int = 12, most_sets: int = 0) -> float:
        """Solve the master, price all days, add routes; with `most_sets` no bound. Gives the most negative reduced cost."""
        self.highs.run()
        price = np.asarray(self.highs.getSolution().row_dual) * EURO
        if most_sets:
            self._calm = price if self._calm is None else CALM * self._calm + (1.0 - CALM) * price
            price = self._calm
        self.value = self.highs.getInfo().objective_function_value * EURO
        worst, saving = 0.0, 0.0
        for day in self.days:
            floor = self._price(day, price, many, most_sets)
            worst, saving = min(worst, float(floor.min(initial=0.0))), saving + self._saving(day, floor)
        if not most_sets:
            self.bound = max(self.bound, self.value + saving)
        return worst

    def look_closer(self) -> bool:
        """Keep twice as many labels in the route program; False where that has been done often enough."""
        for routes in self.days.values():
            routes.keep *= 2
        return all(routes.keep <= MOST_LABELS for routes in self.days.values())

    def whole(self) -> highspy.HighsLp:
        """The master over the routes known, whole numbers where plans have them."""
        lp = self.highs.getLp()
        reduced = np.asarray(self.highs.getSolution().col_dual)[self.rows.columns :]
        upper = np.asarray(lp.col_upper_).copy()
        if len(reduced) == len(self.routes) and len(reduced) > MOST_WHOLE:
            dear = np.argsort(reduced, kind="stable")[MOST_WHOLE:]
            upper[self.rows.columns + dear[dear >= self.seeds]] = 0.0
        upper[self.rows.columns + np.flatnonzero(self._unfit)] = 0.0
        lp.col_upper_ = upper
        most = np.asarray(lp.row_upper_).copy()
        for (skill, level), rows in self.skill_row.items():
            most[rows] = [self.facts.holders(skill, level, day).bit_count() for day in range(self.facts.days)]
        lp.row_upper_ = most
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        fixed = self.rows.whole()
        lp.integrality_ = [kinds[int(w)] for w in fixed] + [kinds[1]] * len(self.routes)
        return lp

    def _price(self, day: int, price: Floats, many: int, most_sets: int) -> Floats:
        """Least reduced cost per team kind of the day; good routes are added."""
        routes = self.days[day]
        node, link = self.node_links[day]
        prize: Floats = np.bincount(node, weights=-price[self.link[link]], minlength=len(routes.nodes.kind)).astype(float)
        minute = -float(price[self.week_row[day]]) / 60.0
        floor, found = routes.best(prize, many, minute, most_sets)
        own = np.array([self._team_price(day, int(size), price) for size in routes.teams.size])
        for team, nodes, reduced in found:
            if reduced + own[team] < -1.0:
                self._add(day, team, nodes)  # at calm prices a route may not be useful yet; the master decides
        total: Floats = np.minimum(0.0, floor + own)
        return total

    def _team_price(self, day: int, size: int, price: Floats) -> float:
        own = -price[self.people_row[day]] * size - price[self.teams_row[day]]
        return float(own - sum(price[row] for row in self.vehicle_rows(day, size)))

    def _saving(self, day: int, floor: Floats) -> float:
        """The most that routes of a day could still save: vehicles and people bound how many there are of each size."""
        people = self.facts.fit[day].bit_count()
        sizes = self.days[day].teams.size
        best = {int(s): float(floor[sizes == s].min()) for s in np.unique(sizes)}
        table = [0.0] * (people + 1)
        for _ in range(self.most_teams[day]):
            table = [min([table[n], *(table[n - s] + c for s, c in best.items() if s <= n)]) for n in range(people + 1)]
        return table[people]

    def _add(self, day: int, team: int, nodes: list[int]) -> None:
        routes = self.days[day]
        stops = tuple((self.kinds[int(routes.nodes.kind[i])], int(routes.nodes.start[i])) for i in nodes)
        ends = float(routes.first_cents[team, nodes[0]] + routes.last_cents[team, nodes[-1]])
        turbines = [kind.turbine for kind, _ in stops]
        minutes = sum(self.facts.hop_min[a][b] for a, b in pairwise(turbines)) * int(routes.teams.size[team])
        cents = ends + float(routes.own_cents[team, nodes].sum()) + minutes * self.facts.problem.weights.travel_per_person_min
        self.add(Route(day, int(routes.teams.size[team]), stops, cents))

    def add(self, route: Route) -> None:
        """Let the master use a route, unless it knows it already."""
        key = (route.day, route.size, round(route.cents), tuple((k.jobs, s) for k, s in route.stops))
        if key in self._known:
            return
        self._known.add(key)
        needs = merged([kind.needs for kind, _ in route.stops])
        self._unfit.append(self.team_sizes.least(route.day, needs, route.size) > route.size)
        rows = [int(self.link[self.job_day[job, route.day]]) for kind, _ in route.stops for job in kind.jobs]
        values = [-1.0] * len(rows)
        rows.append(int(self.people_row[route.day]))
        values.append(float(route.size))
        rows += [self.week_row[route.day], int(self.teams_row[route.day])]
        values += [route.size * self.away_min(route) / 60.0, 1.0]
        for row in self.vehicle_rows(route.day, route.size):
            rows.append(row)
            values.append(1.0)
        for skill, level, count in needs:
            rows.append(int(self.skill_row[skill, level][route.day]))
            values.append(float(count))
        self.highs.addCol(route.cents / EURO, 0.0, highspy.kHighsInf, len(rows), np.array(rows, np.int32), np.array(values))
        self.routes.append(route)
