"""Random small problems with a turbine that is shut until one of its orders has opened it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.problem import Access, Mode, Order, Problem

SHUT = Access("none", 0, 0)


def with_gate(seed: int, problem: Problem) -> Problem:
    """The problem with its first order as the inspection that opens its turbine, and about half of the others behind it.

    The turbine is shut on all days, or from a day on; some of the others open another gate for one that comes after them.
    """
    rng = np.random.default_rng([seed, 83])
    opener = replace(
        problem.orders[0],
        opens_climbing=True,
        access=Access("ladder", 35, 30),
        modes=(Mode(2, (30,)),),
        days=tuple(range(len(problem.days))),
        window="calm",
        also=(),
        needs=(),
        equipment=(),
        ride_along=False,
        after=(),
        pins=(),
        crew=(),
    )
    from_day = int(rng.choice([0, 0, 1]))
    turbines = tuple(
        replace(t, access=(*t.access[:from_day], *(SHUT,) * (len(t.access) - from_day))) if t.id == opener.turbine else t
        for t in problem.turbines
    )
    orders = [opener]
    for order in problem.orders[1:]:
        orders.append(_behind(rng, order, opener) if rng.random() < 0.6 else replace(order, pins=()))
    return replace(problem, turbines=turbines, orders=tuple(orders), published=())


def _behind(rng: np.random.Generator, order: Order, opener: Order) -> Order:
    """The order on the opener's turbine behind it, and now and then behind what it comes after as well."""
    after = tuple(dict.fromkeys((opener.id, *order.after)))
    own = Access("lift", 12, 10) if rng.random() < 0.7 else Access("ladder", 40, 30)
    return replace(
        order,
        turbine=opener.turbine,
        stops=(opener.turbine,),
        opens_climbing=False,
        access=own,
        left_out_cost=3 * order.left_out_cost,
        after=after,
        after_gap_min=0,
        behind=after if rng.random() < 0.3 else (opener.id,),
        pins=(),
    )
