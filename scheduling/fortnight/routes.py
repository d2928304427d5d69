"""The cheapest routes of a day at given prizes for jobs, by a dynamic program over slots and turbines.

A route is a team's day: base, visits, base. The program keeps for each turbine and slot the few cheapest partial routes
(labels) with the orders they have done, so that no order is done twice. Where labels are dropped, the first one dropped
stays as a floor that remembers nothing: values never lie above the true optimum, so they may be used in a bound.

Three layers of labels: `SHORT` routes are back before a break is due; `DUE` ones must still have their break; `RESTED` ones
had it. Not kept here: climbs per day, skills, who goes (counted or crewed elsewhere).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.labels import FAR, KEEP
from scheduling.fortnight.routeprogram import Found, Program


@dataclass(frozen=True)
class DayNodes:
    """Candidates of one day: arrays of the same length, sorted by start."""

    day: int
    kind: Ints
    turbine: Ints
    start: Ints
    slots: Ints
    rest: NDArray[np.bool_]
    team: Ints
    cents: Floats
    chance: Floats


@dataclass(frozen=True)
class Teams:
    """The kinds of teams that are priced together: size, and slots in which they may be away, start of overtime."""

    size: Ints
    start: Ints
    end: Ints
    regular: Ints


class Routes:
    """Prices one day. `best` gives the least reduced cost per team kind and some good routes."""

    def __init__(self, facts: Facts, nodes: DayNodes, teams: Teams, orders: list[tuple[int, ...]]) -> None:
        self.facts, self.nodes, self.teams, self.orders = facts, nodes, teams, orders
        p = facts.problem
        self.slots = facts.slots[nodes.day]
        used = np.unique(nodes.turbine)
        self.place = np.searchsorted(used, nodes.turbine)
        self.hop = np.array(facts.hop_slots)[np.ix_(used, used)]
        minutes = np.array(facts.hop_min)[np.ix_(used, used)]
        self.pause = np.maximum(self.hop, -(-(minutes + p.rules.break_min) // p.slot_min))
        self.travel = minutes * float(p.weights.travel_per_person_min)
        self.base_min = np.array(facts.base_min)[nodes.turbine]
        self.base_slots = np.array(facts.base_slots)[nodes.turbine]
        self.minute, self.keep = 0.0, KEEP
        self._group()
        self.first_cents, self.last_cents = self._ends()
        extra = (1.0 - nodes.chance) * facts.abort_cents[nodes.day] * np.maximum(0, teams.size[:, None] - nodes.team)
        self.own_cents = np.where(nodes.team[None, :] <= teams.size[:, None], nodes.cents + extra, FAR)
        longest = int((teams.end - teams.start).max(initial=0)) * p.slot_min
        self.long_shifts = longest > 2 * p.rules.break_after_min

    def _group(self) -> None:
        """Nodes of the same orders with the same start and length stand for each other: only the cheapest counts."""
        n = self.nodes
        number: dict[tuple[int, ...], int] = {}
        sets = np.array([number.setdefault(self.orders[k], len(number)) for k in n.kind.tolist()], np.int64)
        key = (sets * 1000 + n.start) * 1000 + n.slots * 2 + n.rest
        self.by_group = np.lexsort((key, n.start))
        self.groups = np.flatnonzero(np.diff(np.append(-1, key[self.by_group])) != 0)
        self.group_sets = sets[self.by_group[self.groups]]
        self.group_slots = n.slots[self.by_group[self.groups]]
        self.group_rests = n.rest[self.by_group[self.groups]]

    def _ends(self) -> tuple[Floats, Floats]:
        """[teams, nodes]: cents of going out to a node first, and of going home from it; FAR where the shift forbids it."""
        n, t, w, slot = self.nodes, self.teams, self.facts.problem.weights, self.facts.problem.slot_min
        ride = self.base_min[None, :] * t.size[:, None] * float(w.travel_per_person_min)
        end = n.start + n.slots
        late = np.maximum(0, n.start * slot - self.base_min - t.regular[:, None] * slot) * t.size[:, None]
        spared = late * float(w.overtime_per_person_min)  # leaving after the regular end: only the time away is overtime
        out = np.where(n.start - self.base_slots >= t.start[:, None], ride + w.team_day - spared, FAR)
        over = np.maximum(0, end * slot + self.base_min - t.regular[:, None] * slot) * t.size[:, None]
        home = np.where(end + self.base_slots <= t.end[:, None], ride + over * float(w.overtime_per_person_min), FAR)
        return out, home

    # --- the program --------------------------------------------------------------------------------------------------

    def best(self, prize: Floats, many: int, minute: float = 0.0, most_sets: int = 0) -> tuple[Floats, list[Found]]:
        """At these prizes per node: least reduced cost per team kind (0 or less), and up to `many` routes for each.

        A route is (team kind, nodes in order, reduced cost). Team kinds' own prices are added by the caller. `minute` is the
        price of a minute away per person. With `most_sets` only so many sets of orders are tried: quick, but no bound.
        """
        teams = len(self.teams.size)
        cost = self.own_cents - prize[None, :]
        least = np.minimum.reduceat(cost[:, self.by_group], self.groups, axis=1)
        wanted = np.flatnonzero((least.min(axis=0) < 0) | (self.long_shifts & self.group_rests & (least.min(axis=0) < FAR)))
        if not len(wanted):
            return np.zeros(teams), []
        if most_sets:
            wanted = self._promising(least.min(axis=0), wanted, most_sets)
        self.minute = minute
        chosen = self._cheapest(cost, least, wanted)
        return Program(self, chosen, least[:, wanted]).solve(many)

    def _promising(self, least: Floats, wanted: Ints, most: int) -> Ints:
        """The wanted groups of the sets of orders that gain most per slot."""
        sets = self.group_sets[wanted]
        gain = np.full(int(self.group_sets.max()) + 1, FAR)
        np.minimum.at(gain, sets, least[wanted] / (1.0 + self.group_slots[wanted]))
        best = np.argsort(gain)[:most]
        found: Ints = wanted[np.isin(sets, best)]
        return found

    def _cheapest(self, cost: Floats, least: Floats, wanted: Ints) -> Ints:
        """[teams, groups]: the node that stands for each wanted group."""
        sizes = np.diff(np.append(self.groups, len(self.by_group)))
        spread = np.repeat(np.arange(len(sizes)), sizes)
        chosen = np.zeros(least.shape, np.int64)
        for team in range(len(cost)):
            hit = np.flatnonzero(cost[team, self.by_group] <= least[team, spread])
            chosen[team, spread[hit]] = self.by_group[hit]
        found: Ints = chosen[:, wanted]
        return found
