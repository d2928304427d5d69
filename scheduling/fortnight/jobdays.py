"""Columns and rows that both master problems share: a job done on a day, orders whole or left out, vehicles by seats."""

from __future__ import annotations

import numpy as np

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import JobKey, Kind, Kinds
from scheduling.fortnight.facts import Facts, Ints
from scheduling.fortnight.rows import INF, Rows


class JobDays:
    """`x` has one column for each job and day on which some kind does it; row `link` ties it to the routes that do it."""

    def __init__(self, facts: Facts, kinds: Kinds, pinned_cents: int) -> None:
        self.facts, self.kinds, self.rows = facts, kinds.all(), Rows()
        self.bound, self.value = -1e12, float("inf")
        self.done: dict[JobKey, Ints] = {}
        self._jobs(self.kinds)
        orders = facts.problem.orders
        cost = [o.left_out_cost + facts.change_all[i] + (pinned_cents if o.pins else 0) for i, o in enumerate(orders)]
        upper = [0.0 if o.pins and not pinned_cents else 1.0 for o in orders]
        self.left = self.rows.add_columns(len(orders), cost=cost, upper=upper, whole=True)
        for rule in (order_rows.complete, order_rows.sequence, order_rows.after):
            rule(self)
        between = [orders[job[0]].stopped_between for job, _ in self.job_day]
        self.link = self.rows.add_rows(len(self.job_day), np.where(between, 0.0, -INF), 0.0)
        self.rows.put(self.link, self.x, 1.0)
        self.most_teams = [most_teams(facts, day) for day in range(facts.days)]
        self.teams_row = self.rows.add_rows(facts.days, -INF, [float(most) for most in self.most_teams])
        self.vehicle_row = self._vehicles()

    def _jobs(self, kinds: list[Kind]) -> None:
        pairs = sorted({(job, day) for kind in kinds for day in kind.fields for job in kind.jobs})
        self.job_day = {pair: i for i, pair in enumerate(pairs)}
        self.x = self.rows.add_columns(len(pairs))
        self.day = np.array([day for _, day in pairs], np.int64)
        self.candidates: dict[JobKey, Ints] = {}
        for job in {job for job, _ in pairs}:
            self.candidates[job] = np.array([i for (j, _), i in self.job_day.items() if j == job], np.int64)

    def _vehicles(self) -> dict[tuple[int, int], int]:
        """(day, seats) -> row: teams of more people than that need a larger vehicle each; 0 seats where there is one size."""
        seats = sorted({0, *(v.seats for v in self.facts.problem.vehicles)})
        larger = {n: float(sum(v.seats > n for v in self.facts.problem.vehicles)) for n in seats[:-1] or seats}
        return {
            (day, n): int(self.rows.add_rows(1, -INF, most)[0]) for day in range(self.facts.days) for n, most in larger.items()
        }

    def vehicle_rows(self, day: int, size: int) -> list[int]:
        """Rows that a team of this size fills on a day."""
        return [row for (d, seats), row in self.vehicle_row.items() if d == day and size > seats]


def most_teams(facts: Facts, day: int) -> int:
    """How many teams can go out on a day: vehicles, and a rescue pair in each."""
    vehicles, pair = len(facts.problem.vehicles), facts.problem.rules.rescue_pair
    return min(vehicles, facts.rescue[day].bit_count() // pair) if pair > 0 else vehicles
