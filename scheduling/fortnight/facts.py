"""A problem turned into numbers once: indices, hops, energy sums, runs of workable slots, people as bit masks.

Everything here follows from the definitions in rules.py; nothing here decides anything. People, turbines, orders and
equipment are numbered in the order in which the problem lists them; a set of people is an int with bit i for person i.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduling.bits import unpack_members
from scheduling.fortnight import teaming
from scheduling.fortnight.company import Company
from scheduling.fortnight.problem import Order, Problem, Shift

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Facts:
    """Look-up tables of one problem. Minutes and slots as named; money in cents as floats (rounded only in the sums).

    home_min, home_slots  [place][turbine]: hop from the base (place 0) and from each lodging (from 1 on, as they are listed)
    least_slots           by turbine: the hop to the nearest of these places
    `nearest`: for bounds. `base_min` and `base_slots` are then those to the nearest place, as if every team could sleep there for
    nothing: no plan with nights away costs less, is away longer or later.
    """

    def __init__(self, problem: Problem, *, nearest: bool = False) -> None:
        self.problem = problem
        self.days = len(problem.days)
        self.slots = [day.slots for day in problem.days]
        self.first = [day.first_slot for day in problem.days]
        self.turbine = {t.id: i for i, t in enumerate(problem.turbines)}
        self.order = {o.id: i for i, o in enumerate(problem.orders)}
        self.person = {p.id: i for i, p in enumerate(problem.people)}
        self.equipment = {e.id: i for i, e in enumerate(problem.equipment)}
        self.own = [self.turbine[o.turbine] for o in problem.orders]
        self.after = [tuple(self.order[a] for a in o.after) for o in problem.orders]
        self.behind = {(i, self.order[a]) for i, o in enumerate(problem.orders) for a in o.behind}
        self._distances(nearest)
        self._energy()
        self._people()
        self._published()
        weights = problem.day_weight or (1.0,) * self.days
        self.abort_cents = [problem.weights.abort_per_person * weight for weight in weights]
        self._tables: dict[str, NDArray[np.bool_]] = {}
        self._runs: dict[tuple[str, ...], Ints] = {}
        self._chance: dict[tuple[tuple[str, ...], int, int], Floats] = {}

    # --- places -------------------------------------------------------------------------------------------------

    def _distances(self, nearest: bool) -> None:
        p = self.problem
        places = [(t.x_km, t.y_km) for t in p.turbines]
        base = (p.base_x_km, p.base_y_km)
        homes = [base, *((one.x_km, one.y_km) for one in p.lodgings)]
        self.home_min = [[self._hop(home, place) for place in places] for home in homes]
        self.home_slots = [[self.to_slots(minutes) for minutes in row] for row in self.home_min]
        self.least_slots: list[int] = [min(row) for row in zip(*self.home_slots, strict=True)]
        self.base_min: list[int] = [min(row) for row in zip(*self.home_min, strict=True)] if nearest else self.home_min[0]
        self.hop_min = [[0 if a == b else self._hop(pa, pb) for b, pb in enumerate(places)] for a, pa in enumerate(places)]
        self.base_slots = [self.to_slots(minutes) for minutes in self.base_min]
        self.hop_slots = [[self.to_slots(minutes) for minutes in row] for row in self.hop_min]

    def _hop(self, a: tuple[float, float], b: tuple[float, float]) -> int:
        km = math.hypot(a[0] - b[0], a[1] - b[1])
        return self.problem.hop_fixed_min + math.ceil(60.0 * km / self.problem.speed_kmh)

    def to_slots(self, minutes: int) -> int:
        """Minutes as whole slots, rounded up."""
        return -(-minutes // self.problem.slot_min)

    def moment(self, day: int, slot: int) -> int:
        """Minutes from the horizon's origin to the start of a slot."""
        return self.problem.days[day].start_min + slot * self.problem.slot_min

    def waited(self, later: int, earlier: int, day: int, end: int) -> int:
        """Minute from which an order may start after another whose stay ends on that day at that slot."""
        end = self.slots[day] if (later, earlier) in self.behind else end
        return self.moment(day, end) + self.problem.orders[later].after_gap_min

    # --- energy -------------------------------------------------------------------------------------------------

    def _energy(self) -> None:
        """stop_cents[t][c]: cents lost by turbine t standing in columns before c; standing[t][d]: the nights before day d."""
        p = self.problem
        total, cache = p.total_slots, dict[tuple[str, str], Floats]()
        self.stop_cents: list[Floats] = []
        self.night_cents: list[Floats] = []
        for t in p.turbines:
            key = (t.energy, t.site)
            if key not in cache:
                lost = np.asarray(p.stop_mwh[t.energy], float) * np.asarray(p.price_cents[t.site], float)
                cache[key] = np.concatenate(([0.0], np.cumsum(lost.reshape(total))))
            self.stop_cents.append(cache[key])
            nights = np.asarray(p.night_mwh[t.energy], float) * np.asarray(p.night_cents[t.site], float)
            self.night_cents.append(np.concatenate(([0.0], np.cumsum(nights.reshape(self.days)))))

    def standing(self, turbine: int, day: int, slot: int) -> float:
        """Cents lost by a turbine that stands from the start of the horizon to this slot, nights included."""
        return float(self.stop_cents[turbine][self.first[day] + slot] + self.night_cents[turbine][day])

    @cached_property
    def standing_costs(self) -> bool:
        """Whether no hour of standing is ever worth less than nothing (no price and no energy below 0)."""
        p = self.problem
        signs = (p.price_cents, p.night_cents, p.stop_mwh, p.night_mwh)
        return all(value >= 0 for table in signs for series in table.values() for value in series)

    # --- people -------------------------------------------------------------------------------------------------

    def _people(self) -> None:
        people = self.problem.people
        self.shift: list[dict[int, Shift]] = [{s.day: s for s in p.shifts} for p in people]
        self.fit = [0] * self.days
        self.certified = [0] * self.days
        self.rescue = [0] * self.days
        for i, p in enumerate(people):
            for day in p.fit_days:
                if day in self.shift[i]:
                    self.certified[day] |= 1 << i
                    self.fit[day] |= 0 if p.learner else 1 << i
            for day in p.rescue_days:
                self.rescue[day] |= 1 << i
        self.rescue = [r & f for r, f in zip(self.rescue, self.fit, strict=True)]
        self.together = [(self.person[a], self.person[b]) for a, b in self.problem.together]
        self.apart = [(self.person[a], self.person[b]) for a, b in self.problem.apart]
        self.learners = sum(1 << i for i, p in enumerate(people) if p.learner)
        self.company = Company(self.problem, self.person)
        asked = self.company.named & self.learners
        self.may_go = [fit | certified & asked for fit, certified in zip(self.fit, self.certified, strict=True)]
        self._holders: dict[tuple[str, int, int], int] = {}
        self._on_shift: dict[tuple[int, int], Ints] = {}

    def holders(self, skill: str, level: int, day: int) -> int:
        """Fit people who hold the skill at this level or above on the day."""
        key = (skill, level, day)
        if key not in self._holders:
            mask = 0
            for i, p in enumerate(self.problem.people):
                if any(h.skill == skill and h.level >= level and day in h.days for h in p.skills):
                    mask |= 1 << i
            self._holders[key] = mask & self.fit[day]
        return self._holders[key]

    def on_shift(self, mask: int, day: int) -> Ints:
        """[a, b] -> how many people of the mask have a shift that day that covers slots [a, b)."""
        key = (mask, day)
        if key not in self._on_shift:
            table = np.zeros((self.slots[day] + 1, self.slots[day] + 1), np.int64)
            for person in self.members_of(mask):
                shift = self.shift[person][day]
                table[shift.start :, : shift.end + 1] += 1
            self._on_shift[key] = table
        return self._on_shift[key]

    def week_left(self, person: int, week: str) -> int:
        """Minutes the person may still be away in that week."""
        return self.problem.people[person].week_left_min.get(week, self.problem.rules.week_max_min)

    members_of = staticmethod(teaming.members_of)

    # --- weather and the published plan ---------------------------------------------------------------------------

    def windows(self, orders: Iterable[Order]) -> tuple[str, ...]:
        """Keys of everything that must be workable for these orders together, each once."""
        return tuple(sorted({key for o in orders for key in (o.window, *o.also)}))

    def runs(self, windows: tuple[str, ...]) -> Ints:
        """[members, columns]: workable slots in a row from this column on, within its day, for all named windows."""
        if windows not in self._runs:
            p = self.problem
            table = np.logical_and.reduce([self._table(w) for w in windows])
            out = np.zeros((p.members, p.total_slots), np.int64)
            for day in p.days:
                run = np.zeros(p.members, np.int64)
                for column in range(day.first_slot + day.slots - 1, day.first_slot - 1, -1):
                    run = np.where(table[:, column], run + 1, 0)
                    out[:, column] = run
            self._runs[windows] = out
        return self._runs[windows]

    def chance(self, windows: tuple[str, ...], day: int, slots: int) -> Floats:
        """Chance of a stay of so many slots for each start 0 .. Day.slots - slots of the day."""
        key = (windows, day, slots)
        if key not in self._chance:
            runs = self.runs(windows)[:, self.first[day] : self.first[day] + self.slots[day] - slots + 1]
            self._chance[key] = (runs >= slots).sum(axis=0) / self.problem.members
        return self._chance[key]

    def _table(self, window: str) -> NDArray[np.bool_]:
        if window not in self._tables:
            p = self.problem
            self._tables[window] = unpack_members(p.workable[window], p.members, p.total_slots)
        return self._tables[window]

    def crew_of(self, order: int, visit: int) -> int:
        """People (mask) who must be in the team of an order's visit."""
        return self.company.crew.get((order, visit), 0)

    def _published(self) -> None:
        self.published: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        self.change_all = [0] * len(self.problem.orders)
        for v in self.problem.published:
            order = self.order[v.order]
            self.published.setdefault((order, v.visit), []).append((v.day, v.start, v.change_cost))
            self.change_all[order] += v.change_cost
