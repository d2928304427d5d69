"""Search on the time-indexed model of a coarse problem: free some orders, solve the rest of the model exactly, crew what it says.

What crewing cannot staff goes back into the model as a cut, so that the model learns (branch and check). Every plan that is
kept stands on the board with real people; the model's bound comes from the process beside it (bound.py).
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import highspy
import numpy as np

from scheduling.fortnight.board import Board, Stop, Team
from scheduling.fortnight.columns import start_index
from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.rows import EURO, INF, quiet
from scheduling.fortnight.search import Search
from scheduling.fortnight.slotted_crew import Crewer, Crews, by_day
from scheduling.fortnight.slotted_model import SLACK, SlottedModel, at_least
from scheduling.fortnight.slotted_runs import Stay

FIRST_FREE, LEAST_FREE = 20, 8
"""Orders freed at a time: at first, and at least."""

PATIENCE_S = (1.0, 3.0)
"""More orders are freed when a trial took less than the first, fewer when it took more than the second."""

TRIAL_S, DIVE_S = 5.0, 15.0

NEAR, NEAREST = 20, 6
"""Runs of a freed order, and of every order in the first trial, that the relaxation's prices like best."""

NEAR_ENOUGH = 1e-4
PRICING = 0.3
"""Share of the time that the linear relaxation may take."""


class Slotted:
    """The search. `step` is one trial."""

    def __init__(
        self, model: SlottedModel, orders: Orders, search: Search, seed: int, should_stop: Callable[[], bool], seconds: float
    ) -> None:
        self.model, self.orders, self.search = model, orders, search
        self.board: Board = orders.board
        self.facts, self.rng = model.facts, random.Random(seed)
        self.crewer = Crewer(model.facts, model.cluster, seed)
        self.highs = quiet(1, seed)
        self.highs.setOptionValue("mip_rel_gap", NEAR_ENOUGH)
        self.highs.cbMipInterrupt += lambda event: event.interrupt(should_stop())
        self.free = FIRST_FREE
        self.possible = [i for i, mine in enumerate(model.by_order) if len(mine)]
        self.now: dict[int, int] = {}
        self.value, self.full, self.first = INF, np.zeros(0), True
        self._counts = np.setdiff1d(np.arange(model.rows.columns), np.append(model.x, model.left))
        self._read_matrix()
        self.near, self.bound = self._priced(seconds)
        self.resume()

    def _priced(self, seconds: float) -> tuple[list[Ints], float]:
        """Runs of each order, those first that the linear relaxation's prices like best; and its value (a bound, in cents)."""
        highs = quiet(1, 0)
        highs.setOptionValue("time_limit", max(0.2, PRICING * seconds))
        highs.passModel(self.lp)
        highs.run()
        solution, optimal = highs.getSolution(), highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        reduced = np.asarray(solution.col_dual)[self.model.x] if optimal else self.cost[self.model.x]
        near = [mine[np.argsort(reduced[mine], kind="stable")] for mine in self.model.by_order]
        euro = highs.getInfo().objective_function_value
        return near, EURO * (euro - SLACK * abs(euro)) if optimal else -INF

    def _read_matrix(self) -> None:
        """The model's numbers, by column; anew after a cut."""
        self.lp = self.model.rows.model(0.0, integer=False)
        matrix = self.lp.a_matrix_
        self.start, self.index, self.entry = (np.asarray(part) for part in (matrix.start_, matrix.index_, matrix.value_))
        self.cost, self.upper = np.asarray(self.lp.col_cost_), np.asarray(self.lp.col_upper_)

    def _from_board(self) -> dict[int, int]:
        """Run of each order that stands on the board, by order."""
        number = {(run.order, run.stays): i for i, run in enumerate(self.model.runs)}
        found: dict[int, int] = {}
        for order in range(len(self.facts.problem.orders)):
            on = sorted((day, stop.start, stop.kind.jobs) for day, stop in self.board.where.get(order, []))
            stays = tuple((self.board.kinds.get(jobs), day, start) for day, start, jobs in on)
            if (order, stays) in number:
                found[order] = number[order, stays]
        return found

    # --- one trial ------------------------------------------------------------------------------------------------------

    def step(self, seconds: float) -> bool:
        """Free some orders (at first all, with few runs each), solve, crew; True if there is a new best board."""
        began = time.monotonic()
        if self.first:
            self.first, value = False, self._solve(set(self.possible), min(DIVE_S, seconds), NEAREST)
        else:
            value = self._solve(set(self._some_orders()), min(TRIAL_S, seconds))
            self._adapt(time.monotonic() - began)
        return value is not None and self.take(self._chosen(value), value)

    def _adapt(self, took: float) -> None:
        """Free more orders after quick trials, fewer after long ones."""
        if took < PATIENCE_S[0]:
            self.free = min(len(self.possible), self.free + 1)
        elif took > PATIENCE_S[1]:
            self.free = max(LEAST_FREE, self.free - 1)

    def follow(self, runs: list[int]) -> bool:
        """Put a whole solution on the board, if it is better there; True if it is the best so far."""
        kept, self.now = self.now, {int(self.model.order[i]): i for i in runs}
        value = self._solve(set(), TRIAL_S)
        chosen, self.now = self.now, kept
        return value is not None and self.take(chosen, value)

    def resume(self) -> None:
        """Go on from the board as another search left it."""
        self.now, self.value, self.full = self._from_board(), INF, np.zeros(0)
        value = self._solve(set(), TRIAL_S)
        if value is not None:
            self.value, self.full = float(self.cost @ value), value

    def take(self, chosen: dict[int, int], value: Floats) -> bool:
        """Crew these runs and put them on the board; True if it is the best so far. A day that cannot be crewed becomes a cut."""
        crews = self._crewed(chosen)
        if crews is None or not self._put(crews):
            return False
        self.now, self.value, self.full = chosen, float(self.cost @ value), value
        return self.search.keep()

    def _solve(self, free: set[int], seconds: float, most: int = NEAR) -> Floats | None:
        """The model with all other orders as they are; None where nothing better was found."""
        m = self.model
        orders = sorted(free | {o for o in self.orders.must if o not in self.now})
        own = np.array([self.now[o] for o in orders if o in self.now], np.int64)
        runs = np.unique(np.concatenate([own, *(self.near[o][:most] for o in orders)])).astype(np.int64)
        columns = np.concatenate([m.x[runs], m.left[orders], self._counts])
        self.highs.passModel(self._part(columns))
        self.highs.setOptionValue("time_limit", max(0.2, seconds))
        if len(self.full):
            self.highs.setSolution(len(columns), np.arange(len(columns), dtype=np.int32), self.full[columns])
        self.highs.run()
        info = self.highs.getInfo()
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None
        value = self._fixed(columns)
        value[columns] = np.asarray(self.highs.getSolution().col_value)
        return value if float(self.cost @ value) < self.value - 1e-6 else None

    def _fixed(self, columns: Ints) -> Floats:
        """All columns as they are now, those given at 0."""
        value = np.zeros(self.model.rows.columns)
        value[self.model.left] = 1.0
        for order, run in self.now.items():
            value[self.model.left[order]], value[self.model.x[run]] = 0.0, 1.0
        value[columns] = 0.0
        return value

    def _part(self, columns: Ints) -> highspy.HighsLp:
        """The model of these columns, everything else fixed. Counts of teams need not be whole: whole runs make them so."""
        fixed = np.flatnonzero(self._fixed(columns))
        used = np.zeros(self.model.rows.rows)
        at, length = self._entries(fixed)
        np.add.at(used, self.index[at], self.entry[at])  # fixed columns are 1
        at, length = self._entries(columns)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_, lp.offset_ = len(columns), self.model.rows.rows, float(self.cost[fixed].sum())
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = self.cost[columns], np.zeros(len(columns)), self.upper[columns]
        lp.row_lower_, lp.row_upper_ = np.asarray(self.lp.row_lower_) - used, np.asarray(self.lp.row_upper_) - used
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(length)])
        lp.a_matrix_.index_, lp.a_matrix_.value_ = self.index[at], self.entry[at]
        whole = len(columns) - len(self._counts)
        kinds = (highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous)
        lp.integrality_ = [kinds[0]] * whole + [kinds[1]] * len(self._counts)
        return lp

    def _entries(self, columns: Ints) -> tuple[Ints, Ints]:
        """Places of the columns' entries in the matrix, and how many each has."""
        length = self.start[columns + 1] - self.start[columns]
        first = np.repeat(self.start[columns] - np.cumsum(length) + length, length)
        return first + np.arange(length.sum()), length

    def _chosen(self, value: Floats) -> dict[int, int]:
        return {int(self.model.order[i]): i for i in np.flatnonzero(value[self.model.x] > 0.5).tolist()}

    # --- which orders are free ------------------------------------------------------------------------------------------

    def _some_orders(self) -> list[int]:
        """Some that are left out and some that stand near each other: in days, in places, or anywhere."""
        pool = self.rng.choice((self._near_days, self._near_days, self._near_places, lambda: self.possible))()
        out = [o for o in pool if o not in self.now]
        planned = [o for o in pool if o in self.now]
        self.rng.shuffle(out)
        self.rng.shuffle(planned)
        few = out[: max(1, self.free // 3)]
        return few + planned[: self.free - len(few)]

    def _near_days(self) -> list[int]:
        day, reach = self.rng.randrange(self.facts.days), self.rng.choice((0, 1, 1, 2))
        return [
            o
            for o in self.possible
            if o not in self.now or any(abs(d - day) <= reach for _, d, _ in self.model.runs[self.now[o]].stays)
        ]

    def _near_places(self) -> list[int]:
        places = sorted({self.model.cluster[self.facts.own[o]] for o in self.possible})
        some = self.rng.sample(places, min(2, len(places)))
        return [o for o in self.possible if self.model.cluster[self.facts.own[o]] in some]

    # --- people -----------------------------------------------------------------------------------------------------------

    def _crewed(self, chosen: dict[int, int]) -> dict[int, Crews] | None:
        """Crews of every day; None, and a cut, where a day cannot be crewed."""
        found: dict[int, Crews] = {}
        for stays in by_day(stay for run in chosen.values() for stay in self.model.runs[run].stays):
            crews = self.crewer.crews(stays)
            if crews is None:
                few = self.crewer.too_much(stays)
                self.model.rows.add_row(-INF, len(few) - 1.0, at_least(self.model, few))
                self._read_matrix()
                return None
            found[stays[0][1]] = crews
        return found

    def _put(self, crews: dict[int, Crews]) -> bool:
        """Exchange the board; back to the best one where hours, rest, seats or pairs do not allow it."""
        self.search.load(([[] for _ in range(self.facts.days)], frozenset(range(len(self.facts.problem.orders))), 0.0))
        for day, found in sorted(crews.items()):
            for mask, stays in found:
                team = self.board.make(day, mask, tuple(self._stop(stay) for stay in stays))
                if not self._allowed(day, team):
                    self.search.load(self.search.best)
                    return False
                self.board.add(day, team)
        self.orders.left = {o for o in range(len(self.facts.problem.orders)) if o not in self.board.where}
        return True

    def _allowed(self, day: int, team: Team) -> bool:
        board = self.board
        fits = board.timely(day, team) and board.vehicles_for(day, None, team.mask.bit_count())
        return fits and board.pairs_kept(day, None, team.mask)

    def _stop(self, stay: Stay) -> Stop:
        kind, day, start = stay
        field, at = kind.fields[day], start_index(kind, day, start)
        assert at is not None
        return Stop(kind, field, start, start + field.slots, float(field.cents[at]), float(field.chance[at]))
