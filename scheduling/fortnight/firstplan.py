"""A sane plan at once: put orders in by a few simple sequences, each where it costs least, and keep the best board."""

from __future__ import annotations

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


def first_plan(orders: Orders, search: Search, should_stop: Callable[[], bool]) -> None:
    """Leave the best of the sequences on the board; `search` knows it as its best."""
    orders.pieces.share = None
    for number, sequence in enumerate(sequences(orders.board.facts)):
        if number and should_stop():
            break
        for order in [o for o in range(len(orders.left_cents)) if o not in orders.left]:
            orders.remove(order)
        for order in sequence:
            orders.add(order)
        search.keep()
    orders.pieces.share = 1.0
    search.load(search.best)
