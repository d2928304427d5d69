"""From routes of a plan to teams of real people: day by day, then each week as one; what has not changed is kept."""

from __future__ import annotations

from itertools import combinations

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.wide.crew import Crews, Staffed
from scheduling.fortnight.wide.master import Route, WideMaster
from scheduling.fortnight.wide.table import Window
from scheduling.fortnight.wide.timed import Timer

TeamKeys = list[tuple[int, list[int], tuple[int, ...]]]
"""Day, people, numbers of kinds."""

KNOWN = -200.0
"""Cents for a person who went with the route before: the same people again unless others are better."""

TIRING = 500.0
"""Cents for each hour that a route is longer than a person's hours of the week leave for each of their days: who has more time
left goes on the longer routes."""

Able = tuple[dict[int, float], tuple[tuple[int, int], ...]]


class Staffing:
    """Staffs plans one after the other."""

    def __init__(self, master: WideMaster, seed: int) -> None:
        self.master, self.facts, self.seed = master, master.facts, seed
        self._able: dict[tuple[int, int, tuple[int, ...]], Able] = {}
        self._last: dict[tuple[int, tuple[int, ...]], int] = {}
        self._weeks: dict[tuple[Route, ...], list[int]] = {}

    def teams(self, routes: list[Route], seconds_a_week: float) -> TeamKeys:
        """The teams; routes that nobody can go on come with no people."""
        by_week: dict[str, list[Route]] = {}
        for route in sorted(routes, key=lambda r: (r.day, r.kinds)):
            by_week.setdefault(self.facts.problem.days[route.day].week, []).append(route)
        found: TeamKeys = []
        for week, some in by_week.items():
            masks = self._week(week, tuple(some), seconds_a_week)
            found += [(r.day, self.facts.members_of(mask), r.kinds) for r, mask in zip(some, masks, strict=True)]
        return found

    def _week(self, week: str, routes: tuple[Route, ...], seconds: float) -> list[int]:
        if routes not in self._weeks:
            hours = [max(0, self.facts.week_left(i, week)) / 60.0 for i in range(len(self.facts.problem.people))]
            teams = [self._staffed(route) for route in routes]
            masks = self._by_day(week, teams, list(hours))
            if not all(masks):
                masks = Crews(self.facts, teams, hours).solve(self.seed, masks, seconds)
            self._weeks[routes] = masks
            self._last |= {(r.day, r.kinds): mask for r, mask in zip(routes, masks, strict=True) if mask}
        return self._weeks[routes]

    def _by_day(self, week: str, teams: list[Staffed], hours: list[float]) -> list[int]:
        """Each day by itself, with the hours that the days before have left."""
        masks, days = list[int](), sorted({team.route.day for team in teams})
        for at, day in enumerate(days):
            today = [self._spared(team, hours, days[at:]) for team in teams if team.route.day == day]
            found = Crews(self.facts, today, hours).solve(self.seed)
            for team, mask in zip(today, found, strict=True):
                for i in self.facts.members_of(mask):
                    hours[i] -= team.route.away_min / 60.0
            masks += found
        return masks

    def _spared(self, team: Staffed, hours: list[float], days: list[int]) -> Staffed:
        """The team with a price on people whose hours it would use up."""
        able = {}
        for i, cents in team.able.items():
            ahead = sum(1 for day in days if day in self.facts.shift[i])
            able[i] = cents + TIRING * max(0.0, team.route.away_min / 60.0 - hours[i] / max(1, ahead))
        return Staffed(team.route, team.worth, able, team.split)

    def _staffed(self, route: Route) -> Staffed:
        key = (route.day, route.size, route.kinds)
        if key not in self._able:
            self._able[key] = _able(self.facts, self.master, route)
        able, split = self._able[key]
        last = self._last.get((route.day, route.kinds), 0)
        orders = self.facts.problem.orders
        worth = sum(float(orders[o].left_out_cost) for o in sorted(self.master.orders_of(route))) + 10_000.0 * route.size
        return Staffed(route, worth, {i: c + (KNOWN if last >> i & 1 else 0.0) for i, c in able.items()}, split)


def _able(facts: Facts, master: WideMaster, route: Route) -> Able:
    """Fit people whose shift has room for the route; groups of them whose shifts together have none."""
    table = next(t for t in master.days[route.day] if t.size == route.size)
    row = {int(k): i for i, k in enumerate(table.kinds.tolist())}
    rows = tuple(row[k] for k in route.kinds)
    able = [w for w in master.windows[route.day] if Timer(facts, table, w, 0.0).best(rows) is not None]
    groups = {w: _on_shift(facts, route.day, w) for w in able}
    split = tuple(
        (groups[a], groups[b]) for a, b in combinations(able, 2) if Timer(facts, table, _both(a, b), 0.0).best(rows) is None
    )
    return {i: 0.0 for w in able for i in facts.members_of(groups[w])}, split


def _both(a: Window, b: Window) -> Window:
    return Window(max(a.leave, b.leave), min(a.back, b.back), min(a.regular, b.regular))


def _on_shift(facts: Facts, day: int, window: Window) -> int:
    """Fit people (mask) with this shift."""
    shifts = {i: facts.shift[i][day] for i in facts.members_of(facts.fit[day])}
    return sum(
        1 << i for i, s in shifts.items() if (s.start, s.end, s.regular_end) == (window.leave, window.back, window.regular)
    )
