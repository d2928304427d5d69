"""Neighbourhood search: take some orders or days off the board, put them back as well as can be, keep what is better.

Which orders come back first is drawn at random between a few sensible sequences, so that no single rule of thumb decides.
Worse boards are accepted now and then, less and less towards the end.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

from scheduling.fortnight.board import BASE, Team
from scheduling.fortnight.covered import keep_cover
from scheduling.fortnight.exactday import better_day
from scheduling.fortnight.nights import hang_night, keep_nights, take_what_pays
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.standing import concerned, relieve

Saved = tuple[list[list[Team]], frozenset[int], float]


class Search:
    """The search over one board. `step` does one trial."""

    def __init__(self, orders: Orders, rng: random.Random) -> None:
        self.orders, self.board, self.rng = orders, orders.board, rng
        self._standing = bool(concerned(orders.board))
        self._sleeping = orders.inserter.hanging.used
        self.now = self.save()
        self.best = self.now
        self.steps = 0
        self.exact_s, self.exact_share = 0.0, 0.1
        self.should_stop: Callable[[], bool] | None = None
        self.allowed: Callable[[], bool] | None = None
        """Whether the board as it stands may be kept at all, asked where there is more to hold than rules and money."""

    def keep(self) -> bool:
        """Take the board as it stands for the present one; True if it is the best so far."""
        self._relieve()
        if self.allowed is not None and not self.allowed():
            self.load(self.now)
            return False
        self.now = self.save()
        if self.lacking(self.now) < self.lacking(self.best) or (
            self.lacking(self.now) == self.lacking(self.best) and self.now[2] < self.best[2] - 0.5
        ):
            self.best = self.now
            return True
        return False

    def keep_best(self) -> bool:
        """Take the board as it stands if it is the best so far, else bring back the one before."""
        before = self.now
        if self.keep():
            return True
        self.load(before)
        self.now = before
        return False

    def _relieve(self) -> None:
        """Bring the board under the rules that no single day shows; again while one of them undoes another."""
        shift, seen = True, -1
        while seen != self.board.stamp and (self._standing or self._sleeping or self.board.cover.asked):
            seen = self.board.stamp
            if self._sleeping and shift:
                take_what_pays(self.orders)
            if self._sleeping:
                keep_nights(self.orders)
            if self.board.cover.asked:
                keep_cover(self.orders, shift=shift)
            if self._standing:
                relieve(self.orders)
            shift = False

    def lacking(self, saved: Saved) -> int:
        """How many orders with pins a saved board leaves out."""
        return len(self.orders.must & saved[1])

    def save(self) -> Saved:
        """A copy of the board that `load` can bring back."""
        return [list(teams) for teams in self.board.teams], frozenset(self.orders.left), self.orders.cents()

    def load(self, saved: Saved) -> None:
        """Bring back a saved board."""
        for day, teams in enumerate(saved[0]):
            now = self.board.teams[day]
            gone = [t for t in now if not any(t is u for u in teams)]
            new = [t for t in teams if not any(t is u for u in now)]
            for team in gone:
                self.board.remove(day, team)
            for team in new:
                self.board.add(day, team)
        self.orders.left = set(saved[1])

    def step(self, heat: float) -> bool:
        """One trial at a temperature in cents; True if there is a new best board."""
        self.steps += 1
        if self.exact_s > 0 and self.rng.random() < self.exact_share:
            return self._exact_day(heat)
        moves = [self._some_orders, self._a_day, self._some_teams, self._near, self._some_teams]
        if self.orders.pieces.users:
            self.orders.pieces.share = self.rng.choice((1.0, 1.0, None))
            moves.append(self._a_piece)
        if self._sleeping:
            moves += [self._a_night, self._a_night]
        self._put_back(self.rng.choice(moves)())
        self.orders.pieces.share = 1.0
        return self._judge(heat)

    def _judge(self, heat: float) -> bool:
        """Keep the board as it is now, or bring back the one before."""
        self._relieve()
        cents = self.orders.cents()
        worse_pins = len(self.orders.must & self.orders.left) > self.lacking(self.now)
        better = cents < self.now[2] or self.rng.random() < math.exp(min(0.0, (self.now[2] - cents) / max(heat, 1e-9)))
        if better and not worse_pins:
            return self.keep()
        self.load(self.now)
        return False

    def _exact_day(self, heat: float) -> bool:
        teams = self.board.teams
        days = [d for d, fit in enumerate(self.board.facts.fit) if fit and all(t.ends == BASE for t in teams[d])]
        if days and better_day(self.orders, self.rng.choice(days), self.rng, self.exact_s, self.steps, self.should_stop):
            return self._judge(heat)
        return False

    # --- what is taken off ----------------------------------------------------------------------------------------

    def _remove(self, orders: list[int]) -> list[int]:
        gone: list[int] = []
        for order in orders:
            gone += self.orders.remove(order)
        return gone

    def _planned(self) -> list[int]:
        return sorted(set(range(len(self.orders.left_cents))) - self.orders.left)

    def _some_orders(self) -> list[int]:
        planned = self._planned()
        return self._remove(self.rng.sample(planned, min(len(planned), self.rng.randint(1, 8))))

    def _a_day(self) -> list[int]:
        days = [d for d, teams in enumerate(self.board.teams) if teams]
        if not days:
            return []
        day = self.rng.choice(days)
        return self._remove([o for t in self.board.teams[day] for s in t.stops for o, _, _ in s.kind.jobs])

    def _some_teams(self) -> list[int]:
        pairs = [(d, t) for d, teams in enumerate(self.board.teams) for t in teams]
        if not pairs:
            return []
        day, _ = self.rng.choice(pairs)
        near = [t for d, t in pairs if d == day or (abs(d - day) == 1 and self.rng.random() < 0.3)]
        chosen = self.rng.sample(near, min(len(near), self.rng.randint(1, 3)))
        return self._remove([o for t in chosen for s in t.stops for o, _, _ in s.kind.jobs])

    def _a_piece(self) -> list[int]:
        """Everything that needs one piece of equipment: is it worth bringing?"""
        users = self.orders.pieces.users
        return self._remove(users[self.rng.choice(sorted(users))])

    def _a_night(self) -> list[int]:
        """What stands in the way of a night away, and some orders of other teams that might be done after it."""
        gone, team = hang_night(self.orders, self.rng)
        others = [order for order in self._planned() if order not in team]
        return gone + self._remove(self.rng.sample(others, min(len(others), self.rng.randint(0, 4)))) if team else gone

    def _near(self) -> list[int]:
        """Orders on turbines near each other."""
        planned = self._planned()
        if not planned:
            return []
        f = self.board.facts
        hops = f.hop_min[f.own[self.rng.choice(planned)]]
        planned.sort(key=lambda o: hops[f.own[o]] * self.rng.uniform(0.7, 1.3))
        return self._remove(planned[: self.rng.randint(2, 8)])

    # --- what comes back ------------------------------------------------------------------------------------------

    def _put_back(self, gone: list[int]) -> None:
        left = self.orders.left - set(gone)
        others = self.rng.sample(sorted(left), min(len(left), 12))
        back = list(dict.fromkeys([*gone, *others]))
        for order in sorted(back, key=self._sequence()):
            if order in self.orders.left:
                self.orders.add(order)

    def _sequence(self) -> Callable[[int], float]:
        f, rng, cents = self.board.facts, self.rng, self.orders.left_cents
        work = [min(m.team * sum(m.visits_min) for m in o.modes) for o in f.problem.orders]
        rules: list[Callable[[int], float]] = [
            lambda o: -cents[o] * rng.uniform(0.6, 1.4),
            lambda o: -cents[o] / work[o] * rng.uniform(0.6, 1.4),
            lambda o: rng.random(),
            lambda o: -work[o] * rng.uniform(0.6, 1.4),
        ]
        chosen = rng.choice(rules)
        depth = self._depth
        return lambda o: chosen(o) + 1e12 * depth(o) - self._first(o)

    def _first(self, order: int) -> float:
        """Pinned orders go first, those whose people are named before the others."""
        return (2e9 if self.board.facts.problem.orders[order].crew else 1e9) if order in self.orders.must else 0.0

    def _depth(self, order: int) -> int:
        """How many orders must come before this one."""
        return 1 + max((self._depth(a) for a in self.board.facts.after[order]), default=-1)
