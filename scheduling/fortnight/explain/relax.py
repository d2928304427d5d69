"""What would let an order in, found by solving: each candidate's relaxed problem is searched from the plan at hand.

Every candidate gets a short search; the cheapest few get a longer one. What is told is the change of the whole cost against
the plan at hand (the order is then no longer left out), what moves, and what falls out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.explain.background import NOTHING_KNOWN, Background
from scheduling.fortnight.explain.candidates import Candidate, candidates
from scheduling.fortnight.explain.compare import Change, compare
from scheduling.fortnight.explain.force import KEEP_CENTS, force_in
from scheduling.fortnight.explain.words import Clock, money, named, slot_clock, time_text
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem

QUICK_STEPS, STEPS, MOST_POLISHED = 24, 120, 6
MOST_OF_A_KIND = 3
"""Ways told of each kind: a person more on ten days is one thought, not ten."""


@dataclass(frozen=True)
class Way:
    """One way in. `cents`: change of the whole cost against the plan at hand (below 0: cheaper). `where`: the order's visits."""

    kind: str
    text: str
    cents: int
    where: tuple[str, ...]
    fallen: tuple[str, ...]
    changes: tuple[Change, ...]
    caution: str
    plan: Plan


@dataclass(frozen=True)
class WaysIn:
    """Ways to let an order in, the cheapest first; `tried` are the texts of candidates that did not."""

    order: str
    ways: tuple[Way, ...]
    tried: tuple[str, ...]
    text: str


def ways_in(
    problem: Problem,
    plan: Plan,
    order_id: str,
    background: Background = NOTHING_KNOWN,
    *,
    clock: Clock = slot_clock,
    given: Sequence[Candidate] | None = None,
    steps: int = STEPS,
    seed: int = 0,
    keep_cents: int = KEEP_CENTS,
    on_progress: Callable[[int, int], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> WaysIn:
    """What would let a left-out order in, ranked by cost; honest when nothing tried does.

    given           candidates to try instead of `candidates(...)`
    steps           of the longer search; with `seed` they decide the answer (no clock does)
    on_progress     (candidates done, all)

    Raises ValueError when the order is not in the problem, or is planned.
    """
    _refuse(problem, plan, order_id)
    tries = tuple(candidates(problem, plan, order_id, background) if given is None else given)
    asked = _Question(problem, plan, order_id, clock, seed, keep_cents, should_stop)
    found: list[tuple[Candidate, Way]] = []
    for number, candidate in enumerate(tries):
        if should_stop is not None and should_stop():
            break
        way = asked.try_it(candidate, min(QUICK_STEPS, steps))
        if way is not None:
            found.append((candidate, way))
        if on_progress is not None:
            on_progress(number + 1, len(tries) + MOST_POLISHED)
    ways = asked.polished(found, steps)
    let_in = {candidate.text for candidate, _ in found}
    tried = tuple(candidate.text for candidate in tries if candidate.text not in let_in)
    return WaysIn(order_id, ways, tried, _text(problem, order_id, ways, tried))


def _refuse(problem: Problem, plan: Plan, order_id: str) -> None:
    if order_id not in {order.id for order in problem.orders}:
        raise ValueError(f"order {order_id!r} is not in the problem; name one of its orders")
    if any(job.order == order_id for visit in plan.visits for job in visit.jobs):
        raise ValueError(f"order {order_id!r} is planned; ask where else it could go")


@dataclass(frozen=True)
class _Question:
    problem: Problem
    plan: Plan
    order: str
    clock: Clock
    seed: int
    keep_cents: int
    should_stop: Callable[[], bool] | None

    def try_it(self, candidate: Candidate, steps: int) -> Way | None:
        """The way this candidate opens, if any. A plan that does not need it is an exchange and not told twice."""
        plan = force_in(
            candidate.problem, self.plan, self.order, steps=steps, seed=self.seed, keep_cents=self.keep_cents,
            should_stop=self.should_stop,
        )  # fmt: skip
        if plan is None or (candidate.kind != "exchange" and not check(self.problem, _as_in(self.problem, plan))):
            return None
        told = compare(candidate.problem, self.plan, plan, self.clock, before=self.problem)
        others = tuple(change for change in told.changes if change.order != self.order)
        where = tuple(self._when(candidate.problem, plan))
        return Way(candidate.kind, candidate.text, told.value, where, told.lost, others, candidate.caution, plan)

    def _when(self, problem: Problem, plan: Plan) -> list[str]:
        names = {person.id: person.name for person in problem.people}
        visits = [visit for visit in plan.visits if any(job.order == self.order for job in visit.jobs)]
        return [
            f"{time_text(problem, visit.day, visit.start, self.clock)}, {', '.join(names[p] for p in visit.people)}"
            for visit in sorted(visits, key=lambda visit: (visit.day, visit.start))
        ]

    def polished(self, found: list[tuple[Candidate, Way]], steps: int) -> tuple[Way, ...]:
        """The cheapest few searched for longer, at most MOST_OF_A_KIND of a kind, all by cost.

        What costs no less than an exchange, which needs nothing lifted, is not told.
        """
        found = sorted(found, key=lambda pair: pair[1].cents)
        kept = [pair for i, pair in enumerate(found) if _same_kind_before(found, i) < MOST_OF_A_KIND]
        ways = [self._better(candidate, way, steps) for candidate, way in kept[:MOST_POLISHED]]
        ways += [way for _, way in kept[MOST_POLISHED:]]
        free = min((way.cents for way in ways if way.kind == "exchange"), default=None)
        worth = [way for way in ways if way.kind == "exchange" or free is None or way.cents < free]
        return tuple(sorted(worth, key=lambda way: way.cents))

    def _better(self, candidate: Candidate, way: Way, steps: int) -> Way:
        if steps <= QUICK_STEPS:
            return way
        longer = self.try_it(candidate, steps)
        return longer if longer is not None and longer.cents < way.cents else way


def _same_kind_before(found: list[tuple[Candidate, Way]], place: int) -> int:
    return sum(candidate.kind == found[place][0].kind for candidate, _ in found[:place])


def _as_in(problem: Problem, plan: Plan) -> Plan:
    """The plan with the parts it would have in this problem, so that only the rules decide."""
    return Plan(plan.visits, plan.left_out, recompute_parts(problem, plan))


def cost_text(problem: Problem, cents: int) -> str:
    """A change of cost in words."""
    if cents < 0:
        return f"{money(problem, -cents)} less than the plan"
    return f"{money(problem, cents)} more than the plan"


def way_text(problem: Problem, way: Way) -> str:
    """One way in a sentence: what, the cost, where it goes then, what moves and what falls out."""
    text = f"{way.text}: {cost_text(problem, way.cents)}"
    text += f"; it goes {named(way.where)}" if way.where else ""
    moved = len({change.order for change in way.changes if change.kind in ("moved", "other people")} - set(way.fallen))
    text += f"; {named(way.fallen)} fall out" if way.fallen else "; nothing falls out"
    return text + (f", {moved} orders change day, hour or people." if moved else ".")


def _text(problem: Problem, order_id: str, ways: tuple[Way, ...], tried: tuple[str, ...]) -> str:
    if not ways:
        return f"Nothing tried lets {order_id} in ({len(tried)} changes tried, each by itself)."
    best = ways[0]
    if best.kind == "exchange" and best.cents < 0:
        return f"A better plan was found with it. {way_text(problem, best)} Solve again, or with more time."
    return f"Cheapest: {way_text(problem, best)}"
