"""Rounds too large for the mixed-integer program alone: the relaxation's advice, then tear out and lay again.

The linear relaxation gives the proven bound and places most items whole. Its advice is rounded and improved by single
moves; after that some weeks' items are taken out and laid again in another order, and kept if the round became cheaper.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from scheduling.year.descent import Descent
from scheduling.year.mip import Floats
from scheduling.year.model import Model
from scheduling.year.plan import Placement, Plan
from scheduling.year.tables import Tables


def rounded(model: Model, values: Floats) -> list[Plan]:
    """Round a fractional solution: items go to the week with the largest fraction, if that is at least `sure`.

    The plans may break rules; they are starts for `Descent.lay`, which takes in only what fits.
    """
    most: dict[int, tuple[float, int, int]] = {}
    for (i, w), v in model.alone.items():
        most[i] = max(most.get(i, (0.0, 0, 0)), (float(values[v]), -w, v))
    out = {i: float(values[v]) for i, v in model.out.items()}
    names = model.t.problem.items
    found = []
    for sure in (0.5, 0.01):
        chosen = sorted((-part, i, -w) for i, (part, w, _) in most.items() if part >= sure and part >= out.get(i, 0.0))
        alone = tuple(Placement(names[i].id, w) for _, i, w in chosen)
        rides = [(i, by, w) for (i, by, w), v in model.absorbed.items() if values[v] >= 0.5]
        found.append(Plan((*alone, *(Placement(names[i].id, w, names[by].id) for i, by, w in rides)), ()))
    return found


def laid_from(t: Tables, advice: Plan, go_on: Callable[[], bool]) -> Plan:
    """A round that keeps the rules, from a plan that may not: its placements where they fit, then single moves."""
    pinned = tuple(Placement(item.id, item.pinned) for item in t.problem.items if item.pinned is not None)
    descent = Descent(t, Plan(pinned, ()))
    for placed in advice.placements:
        if t.index[placed.item] in descent.movable and not placed.with_item:
            descent.lay(t.index[placed.item], placed.week)
    for placed in advice.placements:
        if placed.with_item:
            descent.ride(t.index[placed.item], t.index[placed.with_item])
    return descent.run(go_on)


def tear_and_lay(t: Tables, best: Plan, seed: int, go_on: Callable[[], bool], found: Callable[[Plan], None]) -> Plan:
    """Improve `best` for as long as `go_on` says; `found` is told of each better round."""
    rng = random.Random(seed)
    weeks = len(t.problem.weeks)
    while go_on():
        width = min(weeks, rng.choice((2, 3, 4, 6)))
        first = rng.randrange(weeks - width + 1)
        torn = _torn(t, best, range(first, first + width), rng)
        if not torn:
            continue
        plan = _again(t, best, torn, rng, go_on)
        if plan.value < best.value:
            best = plan
            found(best)
    return best


def _torn(t: Tables, plan: Plan, weeks: range, rng: random.Random) -> set[str]:
    """Some of the items of these weeks; whatever rides along with another stays."""
    tied = {p.with_item for p in plan.placements if p.with_item}
    free = (p.item for p in plan.placements if p.week in weeks and not p.with_item and p.item not in tied)
    here = [item for item in free if t.problem.items[t.index[item]].pinned is None]
    return set(rng.sample(here, min(len(here), rng.choice((8, 15, 30, 60)))))


def _again(t: Tables, plan: Plan, torn: set[str], rng: random.Random, go_on: Callable[[], bool]) -> Plan:
    descent = Descent(t, Plan(tuple(p for p in plan.placements if p.item not in torn), ()))
    order = [t.index[item] for item in (*torn, *plan.left_out)]
    order.sort()
    rng.shuffle(order)
    for _ in range(2):
        for i in order:
            if not go_on():
                return plan
            descent.move(i)
    return descent.plan()
