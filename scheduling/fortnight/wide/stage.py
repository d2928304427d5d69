"""The bound's work on a wide site: routes by their prices, a bound that the prices prove, whole plans, plans cut anew."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from scheduling.fortnight.facts import Floats
from scheduling.fortnight.wide.dive import Dive
from scheduling.fortnight.wide.guess import first_prices
from scheduling.fortnight.wide.master import WideMaster
from scheduling.fortnight.wide.pricing import Limits
from scheduling.fortnight.wide.staff import Staffing, TeamKeys

Say = Callable[[dict[str, Any]], None]
Share = Callable[[], float]

QUICK, QUICK_MANY, QUICK_UNTIL = Limits(0.0, 60), 8, 0.2
"""Sequences followed and routes taken in quick rounds, and the share of the time that they may take."""

CALM = 0.6
"""How much of the calm prices is in those at which routes are sought: prices that jump bring routes of little use."""

SLOW = 0.004
"""Quick rounds end where one lowers the linear optimum by a smaller share."""

FULL, FULL_MANY = Limits(0.0, 200), 10
PHASES = ((0.5, 0.7), (0.8, 1.0))
"""Shares of the time until which full rounds go on, and until which plans are sought; then the same again."""

CLOSE = 0.001
"""Full rounds end where the bound is as close to the linear optimum."""

CENT = 1.0
STAFF_SHARE = 0.02
SURELY, ROUNDING = 1e-6, 1.0
"""Share of the bound given away for rounding, and cents for each team that may go out: costs are kept with seven digits."""


class WideStage:
    """Works on a master for a share of the time; says bounds and teams as it finds them."""

    def __init__(self, master: WideMaster, seed: int, say: Say, share: Share, seconds: float) -> None:
        self.master, self.say, self.share, self.seconds = master, say, share, seconds
        self.rng, self.until, self.begin = random.Random(seed), 1.0, share()
        self.dive = Dive(master, seed, self._over)
        self.staffing = Staffing(master, seed)
        self.calm = master.signed(first_prices(master))

    def _over(self) -> bool:
        """Whether the share that this part may take is used; shares are of what was left when the stage began."""
        return self.share() > self.begin + self.until * (1.0 - self.begin)

    def run(self) -> None:
        """Everything."""
        self._quick()
        for prove, plan in PHASES:
            self._full(prove)
            self._plans(plan)

    def _quick(self) -> None:
        """Rounds that bring routes for every order soon."""
        self.until, last = QUICK_UNTIL, float("inf")
        while not self._over():
            price = self.master.signed(self.master.solve())
            if last - self.master.value < SLOW * abs(self.master.value):
                break
            last = self.master.value
            self.master.spread(self._mixed(price), QUICK, QUICK_MANY, self.rng)
            self.calm = CALM * self.calm + (1.0 - CALM) * price

    def _full(self, until: float) -> None:
        """Rounds over everything, near the prices that prove most; each says a bound."""
        self.until, best, calm = until, self.master.bound, CALM
        self.master.by_columns()
        self.master.lend_hours([], [])
        while not self._over():
            price = self.master.signed(self.master.solve())
            known, mixed = len(self.master.routes), calm * self.calm + (1.0 - calm) * price
            found = self.master.price(mixed, FULL, FULL_MANY, self._over)
            if found > best:
                best, self.calm = found, mixed
                self._say_bound()
            if self.master.value - self.master.bound < CLOSE * abs(self.master.value):
                break
            calm = CALM if len(self.master.routes) > known + len(self.master.days) else 0.5 * calm
            if calm < 0.05 and len(self.master.routes) == known:
                break

    def _mixed(self, price: Floats) -> Floats:
        return CALM * self.calm + (1.0 - CALM) * price

    def _plans(self, until: float) -> None:
        """Dive, staff, and cut anew until the time is up or nothing is left to gain."""
        self.until = until
        while not self._over() and self.dive.value - self.master.bound > CENT:
            before = self.dive.value, self.dive.best
            if self.dive.again(self.dive.part_to_keep() if self.dive.best else []):
                self._join(*before)
            elif not self.dive.best and self.dive.part:
                self._say_teams(self._teams(self.dive.part))  # not whole in time: the board fills it up

    def _teams(self, columns: list[int]) -> TeamKeys:
        routes = [self.master.routes[i] for i in columns]
        return self.staffing.teams(routes, max(1.0, STAFF_SHARE * self.seconds))

    def _join(self, value: float, best: list[int]) -> None:
        """Staff the dive's plan; where that leaves it dearer than the plan before, go on from that one."""
        routes = [self.master.routes[i] for i in self.dive.best]
        teams = self._teams(self.dive.best)
        self._say_teams(teams)
        went = {(day, kinds) for day, people, kinds in teams if people}
        left = [route for route in routes if (route.day, route.kinds) not in went]
        joined = self.dive.value + self.master.left_cents({o for route in left for o in self.master.orders_of(route)})
        if joined >= value - CENT:
            self.dive.value, self.dive.best = value, best
            return
        self.dive.value = joined
        self.dive.best = [i for i in self.dive.best if self.master.routes[i] not in left]
        self.master.lend_hours([self.master.routes[i] for i in self.dive.best], left)

    def _say_bound(self) -> None:
        bound, teams = self.master.bound, sum(self.master.most_teams)
        self.say({"bound": bound - SURELY * abs(bound) - ROUNDING * teams})

    def _say_teams(self, teams: TeamKeys) -> None:
        kinds = self.master.kinds
        self.say({"teams": [[day, people, [kinds[k].jobs for k in some]] for day, people, some in teams]})
