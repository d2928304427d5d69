"""A sane plan at once: put orders in by a few simple sequences, each where it costs least, and keep the best board."""

from __future__ import annotations

import random
from collections.abc import Callable

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.search import Search


def sequences(facts: Facts) -> list[list[int]]:
    """Orders sorted by value per hour of work, by value, and by due day; what must come first always comes first."""
    orders = facts.problem.orders
    work = [min(m.team * sum(m.visits_min) for m in o.modes) for o in orders]
    keys: list[Callable[[int], float]] = [
        lambda i: -orders[i].left_out_cost / work[i],
        lambda i: -float(orders[i].left_out_cost),
        lambda i: float(orders[i].due_day),
    ]
    depth = [_depth(facts, i) for i in range(len(orders))]
    free = [(not o.pins, not o.crew) for o in orders]
    return [sorted(range(len(orders)), key=lambda i: (depth[i], free[i], key(i), i)) for key in keys]


def _depth(facts: Facts, order: int, seen: tuple[int, ...] = ()) -> int:
    return max((1 + _depth(facts, a, (*seen, order)) for a in facts.after[order] if a not in seen), default=0)


def plan_in_order(orders: Orders, sequence: list[int]) -> None:
    """Clear the board and put the orders in one after the other, each where it costs least."""
    orders.clear()
    for order in sequence:
        orders.add(order)


def likely_first(orders: Orders, done: list[float], rng: random.Random) -> None:
    """The orders that the linear optimum does (shares by order) before all others, in a sequence that chance varies."""
    worth = [cents * rng.uniform(0.6, 1.4) for cents in orders.left_cents]
    plan_in_order(orders, sorted(range(len(done)), key=lambda o: (-round(done[o]), -worth[o])))


def first_plan(
    orders: Orders, search: Search, should_stop: Callable[[], bool], better: Callable[[], None] = lambda: None
) -> None:
    """Leave the best of the sequences on the board; `search` knows it as its best, and `better` is called at each new one."""
    orders.pieces.share = None
    for number, sequence in enumerate(sequences(orders.board.facts)):
        if number and should_stop():
            break
        plan_in_order(orders, sequence)
        if search.keep():
            better()
    orders.pieces.share = 1.0
    search.load(search.best)
