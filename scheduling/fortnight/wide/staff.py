"""From routes of a plan to teams of real people: each week is staffed as one (crew.py), what has not changed is kept."""

from __future__ import annotations

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.wide.crew import Staffed, WeekCrews
from scheduling.fortnight.wide.master import Route, WideMaster
from scheduling.fortnight.wide.timed import Timer

TeamKeys = list[tuple[int, list[int], tuple[int, ...]]]
"""Day, people, numbers of kinds."""

KNOWN = -200.0
"""Cents for a person who went with the route before: the same people again unless others are better."""


class Staffing:
    """Staffs plans one after the other."""

    def __init__(self, master: WideMaster, seed: int) -> None:
        self.master, self.facts, self.seed = master, master.facts, seed
        self._able: dict[tuple[int, int, tuple[int, ...]], dict[int, float]] = {}
        self._last: dict[tuple[int, tuple[int, ...]], int] = {}
        self._weeks: dict[tuple[Route, ...], list[int]] = {}

    def teams(self, routes: list[Route], seconds_a_week: float) -> TeamKeys:
        """The teams; routes that nobody can go on come with no people."""
        by_week: dict[str, list[Route]] = {}
        for route in sorted(routes, key=lambda r: (r.day, r.kinds)):
            by_week.setdefault(self.facts.problem.days[route.day].week, []).append(route)
        found: TeamKeys = []
        for some in by_week.values():
            masks = self._week(tuple(some), seconds_a_week)
            found += [(r.day, self.facts.members_of(mask), r.kinds) for r, mask in zip(some, masks, strict=True)]
        return found

    def _week(self, routes: tuple[Route, ...], seconds: float) -> list[int]:
        if routes not in self._weeks:
            staffed = [Staffed(route, self._worth(route), self._people(route)) for route in routes]
            self._weeks = {**self._weeks, routes: WeekCrews(self.facts, staffed).solve(seconds, self.seed)}
            self._last |= {(r.day, r.kinds): mask for r, mask in zip(routes, self._weeks[routes], strict=True) if mask}
        return self._weeks[routes]

    def _worth(self, route: Route) -> float:
        orders = self.facts.problem.orders
        return sum(float(orders[o].left_out_cost) for o in sorted(self.master.orders_of(route))) + 1000.0 * route.size

    def _people(self, route: Route) -> dict[int, float]:
        key = (route.day, route.size, route.kinds)
        if key not in self._able:
            self._able[key] = _able(self.facts, self.master, route)
        last = self._last.get((route.day, route.kinds), 0)
        return {i: cents + (KNOWN if last >> i & 1 else 0.0) for i, cents in self._able[key].items()}


def _able(facts: Facts, master: WideMaster, route: Route) -> dict[int, float]:
    """Fit people whose shift has room for the route, with the cents that it costs them more than the best."""
    table = next(t for t in master.days[route.day] if t.size == route.size)
    row = {int(k): i for i, k in enumerate(table.kinds.tolist())}
    rows, found = tuple(row[k] for k in route.kinds), dict[int, float]()
    for window in master.windows[route.day]:
        timed = Timer(facts, table, window, 0.0).best(rows)
        if timed is None:
            continue
        for i in facts.members_of(facts.fit[route.day]):
            shift = facts.shift[i][route.day]
            if (shift.start, shift.end, shift.regular_end) == (window.leave, window.back, window.regular):
                found[i] = timed.cents / route.size
    least = min(found.values(), default=0.0)
    return {i: cents - least for i, cents in found.items()}
