"""Slotting: which order, which day and hour, how many people; people counted, not named.

Every row below is a true relaxation of a rule in rules.py, so the least value of this model is a proven lower bound on the
value of every plan. `RULES` lists the methods in the order in which they are built, under the planner's words. The model is
sparse: a stay adds +1 where it begins and -1 where it ends, and a running sum per day carries the use in between.

Left out of this model (kept by crewing): who exactly goes, breaks in gaps, rest, pairs, and hops longer than the shortest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.columns import Kind, Kinds
from scheduling.fortnight.facts import Facts, Ints
from scheduling.fortnight.hops import hop_floor
from scheduling.fortnight.rows import Floats, Rows
from scheduling.fortnight.slotting_rules import RULES


class Slotting:
    """The model and the numbers of its columns. Candidate c is kind `kind[c]` on `day[c]` from `start[c]`."""

    def __init__(self, facts: Facts, kinds: Kinds) -> None:
        self.facts = facts
        self.kinds: list[Kind] = kinds.all()
        self.rows = Rows()
        self._candidates()
        self._jobs()
        self.sizes = sorted({int(t) for t in self.team}) or [facts.problem.rules.min_team]
        self.floor = hop_floor(facts)
        self.after_slots = self.floor.slots[self.turbine]
        self.done: dict[tuple[int, int, int], Ints] = {}
        self.mode_column: dict[tuple[int, int], int] = {}
        self.follow: dict[int, list[tuple[int, int, int]]] = {}
        self.x = self.rows.add_columns(len(self.cents), cost=self.cents + self.overtime() + self.travel(), whole=True)
        self.left = self._left()
        self.team_count = self._teams()
        for rule in RULES.values():
            rule(self)

    # --- candidates -----------------------------------------------------------------------------------------------

    def _candidates(self) -> None:
        fields = [(k, field) for k, kind in enumerate(self.kinds) for field in kind.fields.values()]
        lengths = np.array([len(field.starts) for _, field in fields], np.int64)
        empty = np.zeros(0, np.int64)
        self.kind = np.repeat(np.array([k for k, _ in fields], np.int64), lengths)
        self.day = np.repeat(np.array([field.day for _, field in fields], np.int64), lengths)
        self.slots = np.repeat(np.array([field.slots for _, field in fields], np.int64), lengths)
        self.start = np.concatenate([field.starts for _, field in fields]) if fields else empty
        self.cents = np.concatenate([field.cents for _, field in fields]) if fields else np.zeros(0)
        self.ladder = np.repeat(np.array([field.by == "ladder" for _, field in fields], bool), lengths)
        self.team = self.per_kind([kind.team for kind in self.kinds])
        self.turbine = self.per_kind([kind.turbine for kind in self.kinds])

    def per_kind(self, values: list[int]) -> Ints:
        """A number of each kind, spread over the candidates."""
        table: Ints = np.array(values, np.int64)
        return table[self.kind]

    def _jobs(self) -> None:
        """candidates[(order, mode, visit)]: the candidates that carry this job."""
        self._carriers = np.zeros((len(self.facts.problem.orders), len(self.kinds)), bool)
        for k, kind in enumerate(self.kinds):
            self._carriers[[order for order, _, _ in kind.jobs], k] = True
        by_kind = np.searchsorted(self.kind, np.arange(len(self.kinds) + 1))
        found: dict[tuple[int, int, int], list[Ints]] = {}
        for k, kind in enumerate(self.kinds):
            for job in kind.jobs:
                found.setdefault(job, []).append(np.arange(by_kind[k], by_kind[k + 1]))
        self.candidates = {job: np.concatenate(parts) for job, parts in found.items()}

    # --- cost -----------------------------------------------------------------------------------------------------

    def overtime(self) -> Floats:
        """Least overtime of a visit: its own slots after the latest regular end of anybody on shift, for its least team."""
        f = self.facts
        latest = np.array([self._latest_regular(day) for day in range(f.days)] or [0])
        after = np.maximum(0, self.start + self.slots - np.maximum(self.start, latest[self.day])) if len(self.day) else self.start
        return after * (f.problem.slot_min * f.problem.weights.overtime_per_person_min) * self.team.astype(float)

    def _latest_regular(self, day: int) -> int:
        ends = [self.facts.shift[p][day].regular_end for p in self.facts.members_of(self.facts.certified[day])]
        return max(ends, default=self.facts.slots[day])

    def travel(self) -> Floats:
        """Least hop minutes that a visit adds to a route (hops.py), for its least team."""
        per_minute = self.facts.problem.weights.travel_per_person_min
        return self.floor.visit_min[self.turbine] * self.team * float(per_minute)

    def _left(self) -> Ints:
        orders = self.facts.problem.orders
        cost = [o.left_out_cost + self.facts.change_all[i] for i, o in enumerate(orders)]
        return self.rows.add_columns(len(orders), cost=cost, upper=[0.0 if o.pins else 1.0 for o in orders], whole=True)

    def _teams(self) -> dict[tuple[int, int], int]:
        """One whole number per day and team size: how many teams of that size go out (the largest size: or larger)."""
        f, weights = self.facts, self.facts.problem.weights
        found = {}
        for day in range(f.days):
            for size in self.sizes:
                cost = weights.team_day + self.floor.team_min * weights.travel_per_person_min * size
                most = min(len(f.problem.vehicles), f.fit[day].bit_count() // size)
                found[day, size] = int(self.rows.add_columns(1, cost=cost, upper=most, whole=True)[0])
        return found

    def teams_from(self, day: int, size: int) -> list[int]:
        """Columns of the teams of a day that hold at least `size` people."""
        return [column for (d, s), column in self.team_count.items() if d == day and s >= size]

    # --- running use ------------------------------------------------------------------------------------------------

    def running(self, day: int, chosen: Ints, weight: Floats, caps: Floats, *, longer: bool = False) -> Ints:
        """Columns, one a slot of the day: the sum of `weight` over the chosen candidates that run in the slot, <= caps.

        With `longer` a stay also holds its team for the shortest hop to anywhere else.
        """
        slots = self.facts.slots[day]
        use = self.rows.add_columns(slots, upper=caps)
        row = self.rows.add_rows(slots, 0.0, 0.0)
        self.rows.put(row, use, 1.0)
        self.rows.put(row[1:], use[:-1], -1.0)
        begin = self.start[chosen]
        end = begin + self.slots[chosen] + (self.after_slots[chosen] if longer else 0)
        self.rows.put(row[begin], self.x[chosen], -weight)
        inside = end < slots
        self.rows.put(row[end[inside]], self.x[chosen[inside]], weight[inside])
        if longer:
            self._goes_on(day, chosen, weight, row)
        return use

    def _goes_on(self, day: int, chosen: Ints, weight: Floats, row: Ints) -> None:
        """Teams that go on to another visit on the same turbine do not hold the hop."""
        most = np.zeros(len(self.facts.problem.turbines))
        np.maximum.at(most, self.turbine[chosen], weight)
        for turbine, slot, part in self.follow.get(day, []):
            if most[turbine] > 0 and slot < len(row):
                self.rows.put(row[slot], part, most[turbine])
                if slot + self.floor.slots[turbine] < len(row):
                    self.rows.put(row[slot + self.floor.slots[turbine]], part, -most[turbine])

    def on_day(self, day: int) -> Ints:
        """Candidates of a day."""
        return np.flatnonzero(self.day == day)

    def on_shift_by_slot(self, mask: int, day: int) -> Floats:
        """How many people of the mask have a shift that covers each slot of the day."""
        slots = np.arange(self.facts.slots[day])
        return self.facts.on_shift(mask, day)[slots, slots + 1].astype(float)

    def carries(self, order: int, chosen: Ints) -> NDArray[np.bool_]:
        """Which of the chosen candidates carry a job of the order."""
        return self._carriers[order, self.kind[chosen]]

    def team_by_order(self, chosen: Ints) -> dict[int, int]:
        """Largest least team per order among the chosen candidates."""
        found: dict[int, int] = {}
        for k in sorted(set(self.kind[chosen].tolist())):
            for order, _, _ in self.kinds[k].jobs:
                found[order] = max(found.get(order, 0), self.kinds[k].team)
        return found
