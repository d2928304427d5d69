"""Solve a fortnight: first plan, exact model where it is small, else bound and search side by side; a result in every case."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version

from scheduling.fortnight.beside import Beside
from scheduling.fortnight.board import Board
from scheduling.fortnight.bound import COUNT_UNTIL, Bound, least
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.crewing import Crewed, whole_problem
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.firstplan import first_plan
from scheduling.fortnight.money import plan_of
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan, Result
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.search import Saved, Search
from scheduling.fortnight.slotted import Slotted
from scheduling.fortnight.slotted_model import SlottedModel, slotted_model
from scheduling.fortnight.steady import go_on_from

OnProgress = Callable[[float, int, float, Plan], None]
ShouldStop = Callable[[], bool]

CENTS_OF_ROUNDING = 1.0
"""Two parts of the cost sum fractions of a cent and are rounded once each: a proven optimum may differ by that much."""

BOUND_FIRST = 0.5
"""With one thread: share of the time that the bound has before the search begins, so that never two cores are busy at once."""

SHARE_OF_EXACT = 0.3
"""Share of the time for each of the two exact models of a problem with lodgings: for a plan without nights, and for a bound."""

EXACT_STEPS = 9000
"""Problems whose exact model has at most so many possible steps from visit to visit are solved exactly."""


@dataclass(frozen=True)
class Params:
    """How to solve. `gap`: stop when (value - bound) / value is at most this. `threads`: 1 searches only after bounding,
    so that one core is enough.

    `most_changed`: share of the start's visits that may change although nothing forces them to; None: as money says.
    """

    time_limit_s: float = 60.0
    gap: float = 0.0
    seed: int = 0
    threads: int = 2
    heat: float = 0.001
    neighbourhood_s: float = 1.0
    exact: bool = True
    most_changed: float | None = None


def solve(
    problem: Problem,
    params: Params | None = None,
    on_progress: OnProgress | None = None,
    should_stop: ShouldStop | None = None,
    start: Plan | None = None,
) -> Result:
    """The best plan found within the limits, with a proven bound (see plan.Result for statuses).

    `on_progress(seconds, value, bound, plan)` is called at each improvement of value or bound; `should_stop()` is polled
    about every second, and a stop keeps the best plan. Money in whole cents. `start` is a plan known already: what of it keeps
    the rules is one of the first plans, and with `params.most_changed` the only one.
    """
    return _Run(problem, params or Params(), on_progress, should_stop, start).result()


class _Run:
    """One solve: clock, board, search and bound."""

    def __init__(
        self,
        problem: Problem,
        params: Params,
        on_progress: OnProgress | None,
        should_stop: ShouldStop | None,
        start: Plan | None,
    ) -> None:
        self.began = time.monotonic()
        self.start = start
        self.problem, self.params = problem, params
        self.on_progress, self.should_stop = on_progress, should_stop
        self.facts = Facts(problem)
        self.kinds = Kinds(self.facts)
        self.board = Board(self.facts, self.kinds)
        rng = random.Random(params.seed)
        self.orders = Orders(self.board, rng)
        self.search = Search(self.orders, rng)
        self.bound = least(Facts(problem, nearest=True) if problem.lodgings else self.facts)
        self.trace: list[tuple[float, int, float]] = []
        self.proven, self.bound_failure = False, ""
        self._polled, self._stopped = 0.0, False
        self._told: tuple[float, float] = (float("inf"), float("-inf"))

    # --- clock ------------------------------------------------------------------------------------------------------

    def seconds(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.began

    def left_s(self) -> float:
        """Seconds that remain, a margin for the last plan kept."""
        return self.params.time_limit_s - self.seconds() - min(0.5, 0.02 * self.params.time_limit_s)

    def stopped(self) -> bool:
        """Whether the caller asked to stop (asked at most every half second)."""
        if not self._stopped and self.should_stop is not None and self.seconds() - self._polled > 0.3:
            self._polled = self.seconds()
            self._stopped = bool(self.should_stop())
        return self._stopped

    def over(self) -> bool:
        """Out of time, stopped, or good enough."""
        return self.left_s() <= 0 or self.stopped() or self.good_enough()

    def good_enough(self) -> bool:
        """Whether the gap asked for is reached."""
        value = self.search.best[2]
        if self.proven:
            return True
        return value - self.bound <= max(CENTS_OF_ROUNDING, self.params.gap * abs(value)) and not self._pins_missing()

    def _pins_missing(self) -> list[int]:
        return sorted(self.orders.must & self.search.best[1])

    # --- stages -----------------------------------------------------------------------------------------------------

    def result(self) -> Result:
        """Run the stages that the problem needs."""
        if not self.problem.orders:
            return self._result("empty", "There are no orders to plan.")
        self._first()
        self.tell()
        if self.params.exact and self._small():
            crewed = self._exact()
            if crewed.status == "infeasible" and not self.problem.lodgings:
                return self._infeasible()
        if not self.over():
            self._search()
        return self._finish()

    def _first(self) -> None:
        """The first plans: what holds of the start, and the rules of thumb unless the start is to be kept."""
        if self.start is not None:
            steady = go_on_from(self.orders, self.search, self.start)
            if self.params.most_changed is not None:
                self.search.allowed = steady.hold(self.search, self.params.most_changed)
                return
        first_plan(self.orders, self.search, lambda: self.left_s() <= 0 or self.stopped(), self.tell)

    def _small(self) -> bool:
        """Whether the exact model is small enough; counted without building every kind of a large problem."""
        if len(self.problem.orders) > 12:
            return False
        per_day = [0] * self.facts.days
        for kind in self.kinds.all():
            for day in kind.fields:
                per_day[day] += 1
        return sum(n * n for n in per_day) <= EXACT_STEPS

    def _exact(self) -> Crewed:
        kinds = self.kinds.all()
        model = whole_problem(self.board, kinds, self.orders.left_cents, frozenset(self.orders.must))
        self.search.load(self.search.best)
        model.hint(dict(enumerate(self.board.teams)), self.orders.left)
        sleeps = bool(self.problem.lodgings)
        seconds = max(0.1, self.left_s() * (SHARE_OF_EXACT if sleeps else 1.0))
        crewed = model.solve(seconds, self.params.threads, self.params.seed, self.stopped)
        if crewed.status in ("optimal", "feasible"):
            self.bound = max(self.bound, self._nearest_bound(seconds) if sleeps else crewed.bound)
            taken = self._take(crewed)
            self.proven = taken and crewed.status == "optimal" and not self.board.cover.asked and not sleeps
        self.tell()
        return crewed

    def _nearest_bound(self, seconds: float) -> float:
        """What the exact model proves where every team may start and sleep at the nearest place: the model knows no nights."""
        facts = Facts(self.problem, nearest=True)
        board = Board(facts, Kinds(facts))
        model = whole_problem(board, board.kinds.all(), self.orders.left_cents, frozenset(self.orders.must))
        return model.solve(seconds, self.params.threads, self.params.seed, self.stopped).bound

    def _take(self, crewed: Crewed) -> bool:
        """Put an exact model's teams on the board if they are better; False if this board may not be kept."""
        teams = [list(crewed.teams.get(day, [])) for day in range(self.facts.days)]
        saved: Saved = (teams, crewed.left, 0.0)
        self.search.load(saved)
        may = self.search.allowed is None or self.search.allowed()
        self.search.keep()
        return may

    def _search(self) -> None:
        alone = self.params.threads == 1
        seconds = self.left_s() * (BOUND_FIRST if alone else 1.0)
        bound = Bound(self.problem, seconds, self.params.seed, self.params.threads)
        try:
            if alone:
                self._wait_for(bound)
            coarse = slotted_model(self.facts, self.kinds)
            self._search_beside(bound) if coarse is None else self._search_coarse(bound, coarse)
        finally:
            bound.stop()
            self.bound, self.bound_failure = max(self.bound, bound.value), bound.failure

    def _wait_for(self, bound: Bound) -> None:
        """Leave the core to the bound until it has ended or its share of the time is over."""
        until = self.seconds() + BOUND_FIRST * self.left_s()
        while bound.running() and self.seconds() < until and not self.over():
            time.sleep(0.02)
            self.bound = max(self.bound, bound.value)
            self.tell()
        bound.cut()

    def _search_beside(self, bound: Bound) -> None:
        self.search.exact_s, self.search.should_stop = self.params.neighbourhood_s, self.stopped
        beside, begin, room = Beside(bound, self.search), self.seconds(), max(0.1, self.left_s())
        self._let_count(bound, begin + COUNT_UNTIL * room)
        while not self.over():
            share = min(1.0, (self.seconds() - begin) / room)
            better = beside.step(self.search.best[2] * self.params.heat * (1 - share) ** 2)
            if better or bound.value > self.bound + 0.002 * abs(self.bound) + 1.0:
                self.bound = max(self.bound, bound.value)
                self.tell()

    def _let_count(self, bound: Bound, until: float) -> None:
        """Leave both cores to the counting of routes: what they are worth is far more than what the search finds meanwhile."""
        while self.params.threads > 1 and bound.running() and not bound.counted and self.seconds() < until and not self.over():
            time.sleep(0.02)

    def _search_coarse(self, bound: Bound, model: SlottedModel) -> None:
        """Search on the time-indexed model; now and then on the board, for what that model does not know of."""
        slotted, tried = Slotted(model, self.orders, self.search, self.params.seed, self.stopped, self.left_s()), 0
        self.bound = max(self.bound, slotted.bound)
        while not self.over():
            if len(bound.runs) > tried:
                tried = len(bound.runs)
                better = slotted.follow(bound.runs[-1])
            else:
                better = slotted.step(self.left_s())
            if not better and self.search.step(0.0):
                slotted.resume()
            self.bound = max(self.bound, bound.value)
            self.tell()

    # --- telling ------------------------------------------------------------------------------------------------------

    def tell(self) -> None:
        """Report an improvement: trace and the caller's progress."""
        value, bound = self.search.best[2], self.bound
        if value >= self._told[0] - 0.5 and bound <= self._told[1] + 0.5:
            return
        self._told = (value, bound)
        self.trace.append((round(self.seconds(), 3), round(value), bound))
        if self.on_progress is not None:
            self.on_progress(self.seconds(), round(value), bound, self._plan())

    def _plan(self) -> Plan:
        now = self.search.save()
        self.search.load(self.search.best)
        plan = plan_of(self.board, self.orders.left)
        self.search.load(now)
        return plan

    def _finish(self) -> Result:
        missing = self._pins_missing()
        if missing:
            return self._infeasible()
        if self.proven or self.search.best[2] - self.bound <= CENTS_OF_ROUNDING:
            return self._result("optimal", "No plan that keeps the rules costs less.")
        if self.good_enough():
            return self._result("gap reached", "The plan is as close to the bound as was asked for.")
        if self._stopped:
            return self._result("stopped", "Stopped by hand; this is the best plan found until then.")
        return self._result("out of time", "The time is up; this is the best plan found until then.")

    def _infeasible(self) -> Result:
        """Pinned visits that cannot all be kept."""
        names = [self.problem.orders[i].id for i in self._pins_missing() or sorted(self.orders.must)]
        crew = any(self.problem.orders[self.facts.order[name]].crew for name in names)
        text = f"The pinned visits of {', '.join(names)} cannot all be kept{' with the people named for them' if crew else ''}; "
        text += f"release a pin{' or a named person' if crew else ''}, or free people or the window there."
        return self._result("infeasible", text)

    def _result(self, status: str, text: str) -> Result:
        plan = self._plan()
        bound = min(self.bound, float(plan.value)) if status != "infeasible" else self.bound
        if self.bound_failure:
            text += f" The bound stopped early ({self.bound_failure}): the plan may be better than its gap tells."
        versions = {name: version(name) for name in ("ortools", "highspy")}
        return Result(status, text, plan, bound, self.seconds(), tuple(self.trace), versions)
