"""The round as a mixed-integer program: variables first, then one small method per rule, named as in rules.py.

Loads are summed once per week, limit set and group, and the past years' rows are written on those sums, which keeps the
matrix sparse: 15 years of 52 weeks add rows, not copies of every item's choice.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from scheduling.year.fit import Fit, fit_of_week, reachable_h, room_in_enough_years
from scheduling.year.mip import INF, Floats, Mip
from scheduling.year.plan import Placement, Plan
from scheduling.year.tables import Tables

Term = tuple[int, float]


@dataclass
class Model:
    """A `Mip` of a round and the numbers of its variables.

    alone      (item, week) -> 1 if the item is done by itself in that week
    absorbed   (item, absorbing item, week) -> 1 if it is done with that one
    out        item -> 1 if it is left out
    pair       (number in Problem.together, week) -> 1 if both are done by themselves in that week
    hours      (limit, group, week) -> person-hours
    undone     (scenario, week) -> person-hours that do not fit
    """

    t: Tables
    mip: Mip = field(default_factory=Mip)
    alone: dict[tuple[int, int], int] = field(default_factory=dict)
    absorbed: dict[tuple[int, int, int], int] = field(default_factory=dict)
    out: dict[int, int] = field(default_factory=dict)
    pair: dict[tuple[int, int], int] = field(default_factory=dict)
    hours: dict[tuple[int, int, int], int] = field(default_factory=dict)
    undone: dict[tuple[int, int], int] = field(default_factory=dict)
    by_week: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    _key_of: dict[int, list[tuple[int, int, int]]] = field(default_factory=lambda: defaultdict(list))

    def build(self) -> Model:
        """All variables and rows. The order matters only in that loads come before what is counted from them."""
        self._choices()
        self._absorbing()
        self._complete()
        self._pairs()
        self._equipment()
        self._most_down()
        self._loads()
        self._fit_and_overload()
        self._bad_tail()
        return self

    def read(self, values: Floats) -> tuple[dict[int, Placement], tuple[str, ...]]:
        """(item index -> placement, ids left out) of a solution."""
        items = self.t.problem.items
        found = {i: Placement(items[i].id, w) for (i, w), v in self.alone.items() if values[v] > 0.5}
        for (i, by, w), v in self.absorbed.items():
            if values[v] > 0.5 and i not in found:
                found[i] = Placement(items[i].id, w, items[by].id)
        return found, tuple(item.id for i, item in enumerate(items) if i not in found)

    def start(self, plan: Plan) -> dict[int, float]:
        """The choices of a plan as values of variables; empty if the plan uses a choice that is not open."""
        values = dict.fromkeys([*self.alone.values(), *self.absorbed.values()], 0.0)
        index = self.t.index
        for placed in plan.placements:
            i, by = index.get(placed.item, -1), index.get(placed.with_item, -1)
            v = self.absorbed.get((i, by, placed.week)) if placed.with_item else self.alone.get((i, placed.week))
            if v is None:
                return {}
            values[v] = 1.0
        return values

    def _mean_cents(self, i: int, week: int) -> float:
        """Weight of the mean energy in the objective; the tail's rows carry the rest."""
        return float(self.t.cents[i][:, week].mean()) * (1.0 - self.t.problem.weights.tail_share)

    def _choices(self) -> None:
        for i, item in enumerate(self.t.problem.items):
            for w in self.t.alone_weeks[i]:
                cost = self.t.direct[i, w] + item.stop_h * self._mean_cents(i, w)
                self.alone[i, w] = self.mip.add_var(cost, whole=True)
                self.by_week[w].append(i)
            if item.pinned is None:
                stay = item.move_cost if item.previous is not None else 0
                self.out[i] = self.mip.add_var(self.t.out_cents[i] + stay)

    def _absorbing(self) -> None:
        """An absorbed item goes with one that is done by itself in a week of its own window."""
        for by, item in enumerate(self.t.problem.items):
            for other in item.absorbs:
                i = self.t.index[other]
                for w in sorted(set(self.t.weeks_of[i]) & set(self.t.alone_weeks[by])):
                    v = self.absorbed[i, by, w] = self.mip.add_var(self.t.direct[i, w], whole=True)
                    self.mip.add_row([(v, 1.0), (self.alone[by, w], -1.0)], upper=0.0)

    def _complete(self) -> None:
        ways: dict[int, list[Term]] = defaultdict(list)
        for (i, _), v in self.alone.items():
            ways[i].append((v, 1.0))
        for (i, _, _), v in self.absorbed.items():
            ways[i].append((v, 1.0))
        for i, v in self.out.items():
            ways[i].append((v, 1.0))
        for i in range(len(self.t.problem.items)):
            self.mip.add_row(ways[i], 1.0, 1.0)

    def _pairs(self) -> None:
        """Both in one week: at most each of them (and at least, should prices make a stop pay)."""
        for k, both in enumerate(self.t.problem.together):
            i, j = self.t.index[both.first], self.t.index[both.second]
            for w in sorted(set(self.t.alone_weeks[i]) & set(self.t.alone_weeks[j])):
                v = self.pair[k, w] = self.mip.add_var(-both.saved_stop_h * self._mean_cents(i, w))
                self.mip.add_row([(v, 1.0), (self.alone[i, w], -1.0)], upper=0.0)
                self.mip.add_row([(v, 1.0), (self.alone[j, w], -1.0)], upper=0.0)
                self.mip.add_row([(v, 1.0), (self.alone[i, w], -1.0), (self.alone[j, w], -1.0)], lower=-1.0)

    def _equipment(self) -> None:
        items = self.t.problem.items
        for e in self.t.problem.equipment:
            for w in e.weeks:
                users = [(self.alone[i, w], 1.0) for i in self.by_week[w] if e.id in items[i].equipment]
                if len(users) > e.capacity:
                    self.mip.add_row(users, upper=float(e.capacity))
                if users and e.week_cost:
                    booked = self.mip.add_var(e.week_cost)
                    for v, _ in users:
                        self.mip.add_row([(v, 1.0), (booked, -1.0)], upper=0.0)

    def _most_down(self) -> None:
        site = {turbine.id: turbine.site for turbine in self.t.problem.turbines}
        for w, items in self.by_week.items():
            stops: dict[str, list[int]] = defaultdict(list)
            for i in items:
                if self.t.problem.items[i].stop_h > 0:
                    stops[self.t.problem.items[i].turbine].append(self.alone[i, w])
            for name, most in self.t.problem.rules.max_down.items():
                here = [choices for turbine, choices in stops.items() if site[turbine] == name]
                if len(here) > most:
                    self.mip.add_row([(self._down(choices), 1.0) for choices in here], upper=float(most))

    def _down(self, choices: list[int]) -> int:
        """A variable that is 1 if any of a turbine's choices is taken."""
        if len(choices) == 1:
            return choices[0]
        down = self.mip.add_var()
        for v in choices:
            self.mip.add_row([(v, 1.0), (down, -1.0)], upper=0.0)
        return down

    def _loads(self) -> None:
        for w, items in self.by_week.items():
            terms: dict[tuple[int, int], list[Term]] = defaultdict(list)
            for i in items:
                for g in np.flatnonzero(self.t.load[i]).tolist():
                    terms[int(self.t.limit_of[i]), g].append((self.alone[i, w], -float(self.t.load[i, g])))
            for (limit, g), loads in terms.items():
                v = self.hours[limit, g, w] = self.mip.add_var(upper=INF)
                self._key_of[w].append((limit, g, w))
                self.mip.add_row([(v, 1.0), *loads], 0.0, 0.0)

    def _fit_and_overload(self) -> None:
        weights = self.t.problem.weights
        cents = weights.overload_per_person_h * (1.0 - weights.tail_share) / self.t.scenarios
        for w in sorted(self.by_week):
            most = sum((self.t.load[i] for i in self.by_week[w]), np.zeros(len(self.t.groups)))
            fit = Fit.free(self.t.scenarios) if w in self.t.full_weeks else fit_of_week(self.t, w, most)
            if w not in self.t.full_weeks:
                self._must_fit(w, most, fit.must)
            for s in sorted(set(range(self.t.scenarios)) - fit.must):
                v = self.undone[s, w] = self.mip.add_var(cents, upper=INF)
                for loads, room in self._levels(s, w, most):
                    self.mip.add_row([*((load, 1.0) for load in loads), (v, -1.0)], upper=room)
            self._open_choice(w, fit)

    def _must_fit(self, w: int, most: Floats, years: frozenset[int]) -> None:
        """In years that must fit nothing is undone; of rows with the same loads only the tightest is written.

        Beside those rows stand some that follow from "fits in enough years" whichever years they are.
        """
        least = self._enough_years(w)
        for s in years:
            for loads, room in self._levels(s, w, most):
                least[loads] = min(room, least.get(loads, INF))
        for loads, room in least.items():
            self.mip.add_row([(load, 1.0) for load in loads], upper=self._reachable(w, loads, room))

    def _enough_years(self, w: int) -> dict[tuple[int, ...], float]:
        """Loads -> person-hours, for each group and the limit sets from the strictest up to each."""
        found = {}
        strict_first = np.argsort(self.t.share[:, :, w].mean(axis=1), kind="stable").tolist()
        for g in range(len(self.t.groups)):
            limits = [k for k in strict_first if (k, g, w) in self.hours]
            for n in range(1, len(limits) + 1):
                loads = tuple(self.hours[k, g, w] for k in sorted(limits[:n]))
                found[loads] = float(self.t.capacity[w, g]) * room_in_enough_years(self.t, w, limits[:n])
        return found

    def _reachable(self, w: int, loads: tuple[int, ...], room: float) -> float:
        keys = [key for key in self._key_of[w] if self.hours[key] in loads]
        group, limits = keys[0][1], {limit for limit, _, _ in keys}
        items = [i for i in self.by_week[w] if self.t.limit_of[i] in limits and self.t.load[i, group] > 0]
        return reachable_h([float(self.t.load[i, group]) for i in items], room)

    def _levels(self, s: int, w: int, most: Floats) -> list[tuple[tuple[int, ...], float]]:
        """For each level of workable share and each group: the loads that count there, and the person-hours they may take."""
        share = self.t.share[:, s, w]
        found = []
        for level in sorted(set(share.tolist())):
            inside = np.flatnonzero(share <= level).tolist()
            for g in range(len(self.t.groups)):
                room = float(self.t.capacity[w, g]) * level
                loads = tuple(self.hours[k, g, w] for k in inside if (k, g, w) in self.hours)
                if loads and most[g] > room:
                    found.append((loads, room))
        return found

    def _open_choice(self, w: int, fit: Fit) -> None:
        """Where it is not clear which years must fit, choose them: `count` of the open ones."""
        chosen: list[Term] = []
        for s, most_undone in fit.open.items():
            v = self.mip.add_var(whole=True)
            self.mip.add_row([(self.undone[s, w], 1.0), (v, most_undone)], upper=most_undone)
            chosen.append((v, 1.0))
        if chosen:
            self.mip.add_row(chosen, lower=float(fit.count))

    def _bad_tail(self) -> None:
        weights = self.t.problem.weights
        if weights.tail_share == 0.0:
            return
        edge = self.mip.add_var(weights.tail_share, upper=INF, lower=self._least_year())
        excess_cost = weights.tail_share / ((1.0 - weights.quantile) * self.t.scenarios)
        stops = self._stop_sums()
        for s in range(self.t.scenarios):
            excess = self.mip.add_var(excess_cost, upper=INF)
            energy = [(v, float(self.t.cents[i][s, w])) for (i, w), v in stops.items()]
            overload = [(v, float(weights.overload_per_person_h)) for (year, _), v in self.undone.items() if year == s]
            self.mip.add_row([*energy, *overload, (edge, -1.0), (excess, -1.0)], upper=0.0)

    def _least_year(self) -> float:
        """No year costs less than this; without such a floor the edge of the tail may drift to minus infinity."""
        gains = (item.stop_h * min(0.0, float(self.t.cents[i].min())) for i, item in enumerate(self.t.problem.items))
        return sum(gains, 0.0)

    def _stop_sums(self) -> dict[tuple[int, int], int]:
        """(an item standing for all with the same energy and site, week) -> variable: hours of standstill together."""
        first: dict[int, int] = {}
        for i, cents in enumerate(self.t.cents):
            first.setdefault(id(cents), i)
        terms: dict[tuple[int, int], list[Term]] = defaultdict(list)
        for (i, w), v in self.alone.items():
            terms[first[id(self.t.cents[i])], w].append((v, -self.t.problem.items[i].stop_h))
        for (k, w), v in self.pair.items():
            both = self.t.problem.together[k]
            terms[first[id(self.t.cents[self.t.index[both.first]])], w].append((v, both.saved_stop_h))
        sums = {}
        for key, hours in terms.items():
            sums[key] = self.mip.add_var(lower=-INF, upper=INF)
            self.mip.add_row([(sums[key], 1.0), *hours], 0.0, 0.0)
        return sums
