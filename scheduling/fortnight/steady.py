"""Going on from a plan that people know, and holding on to it: visits that nothing forces to change stay as they are."""

from __future__ import annotations

from collections.abc import Callable

from scheduling.fortnight.firstplan import sequences
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.reload import put_what_holds
from scheduling.fortnight.search import Search

Known = tuple[int, int, int, int, int]
"""Order, visit, day, start, people (mask) of a visit as people know it."""


class Steady:
    """The visits of a plan that could stand just as they were, and how many of them have changed on the board."""

    def __init__(self, orders: Orders, plan: Plan, kept: set[tuple[str, int]]) -> None:
        self.orders, facts = orders, orders.board.facts
        self.known: list[Known] = []
        for visit in plan.visits:
            mask = sum(1 << facts.person[one] for one in visit.people if one in facts.person)
            for job in visit.jobs:
                if (job.order, job.visit) in kept:
                    self.known.append((facts.order[job.order], job.visit, visit.day, visit.start, mask))

    def changed(self) -> int:
        """How many of them stand elsewhere, with other people, or not at all."""
        stands = {
            (order, visit, day, stop.start, team.mask)
            for day, teams in enumerate(self.orders.board.teams)
            for team in teams
            for stop in team.stops
            for order, _, visit in stop.kind.jobs
        }
        return sum(one not in stands for one in self.known)

    def hold(self, search: Search, share: float) -> Callable[[], bool]:
        """A test for the board: at most this share changed, or as many as the first plan could not help; pins go first."""
        search.load(search.best)
        most = max(int(share * len(self.known)), self.changed())
        return lambda: search.lacking(search.best) > 0 or self.changed() <= most


def go_on_from(orders: Orders, search: Search, plan: Plan) -> Steady:
    """Put what holds of a plan on an empty board, offer a place to all other orders, and let the search keep that."""
    kept = put_what_holds(orders, plan)
    hit = {job.order for visit in plan.visits for job in visit.jobs}
    ranked = sequences(orders.board.facts)[0]
    told = [number for number in ranked if orders.board.facts.problem.orders[number].id in hit]
    # Those that people know come first: the places they lost are free now. Twice, for those that wait for others.
    for number in (*told, *ranked, *ranked):
        if number in orders.left:
            orders.add(number)
    search.keep()
    return Steady(orders, plan, kept)
