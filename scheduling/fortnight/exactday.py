"""A neighbourhood for the search: one day solved exactly, with orders that are left out (or stand elsewhere) on offer."""

from __future__ import annotations

import random
from collections.abc import Callable

from scheduling.fortnight.columns import JobKey, Kind
from scheduling.fortnight.crewday import crew_day, put_day
from scheduling.fortnight.orders import Orders

MOST_OFFERED = 4


def better_day(
    orders: Orders, day: int, rng: random.Random, seconds: float, seed: int, should_stop: Callable[[], bool] | None = None
) -> bool:
    """Solve the day anew on the board; True if it was solved (the caller keeps or restores the board)."""
    board = orders.board
    here = [s.kind for t in board.teams[day] for s in t.stops]
    crewed = crew_day(orders, day, [*here, *offered(orders, day, here, rng)], seconds, 1, seed, should_stop)
    if crewed.status not in ("optimal", "feasible"):
        return False
    placed = {o for t in crewed.teams.get(day, []) for s in t.stops for o, _, _ in s.kind.jobs}
    for order in sorted(placed - orders.left - {o for kind in here for o, _, _ in kind.jobs}):
        orders.remove(order)
    put_day(board, day, crewed.teams.get(day, []))
    settle(orders)
    for order in sorted(orders.left, key=lambda o: -orders.left_cents[o] * rng.uniform(0.6, 1.4)):
        orders.add(order)
    return True


def offered(orders: Orders, day: int, here: list[Kind], rng: random.Random) -> list[Kind]:
    """Kinds of orders that are out: alone, with each other on a turbine, or joining what stands there that day."""
    kinds = orders.board.kinds
    out = [o for o in sorted(orders.left) if not orders.board.facts.after[o] and not orders.waiting[o]]
    out.sort(key=lambda o: -orders.left_cents[o] * rng.random())
    found: list[Kind] = []
    for order in out[:MOST_OFFERED]:
        for job in kinds.job_keys(order):
            if len(orders.board.facts.problem.orders[order].modes[job[1]].visits_min) > 1:
                continue
            found.append(kinds.get((job,)))
            for kind in [k for k in here if all(o in kinds.mates[order] for o, _, _ in k.jobs)]:
                found.append(kinds.get((*kind.jobs, job)))
    return [kind for kind in found if day in kind.fields]


def settle(orders: Orders) -> None:
    """Make the list of orders left out agree with the board: what is not there whole, or before what it waits for, comes off."""
    facts = orders.board.facts
    for order in range(len(facts.problem.orders)):
        jobs = orders.jobs_on_board(order)
        if _whole(orders, jobs):
            orders.left.discard(order)
        elif jobs:
            orders.left.discard(order)
            orders.remove(order)
        else:
            orders.left.add(order)
    for order in range(len(facts.problem.orders)):
        if order not in orders.left and not _in_turn(orders, order):
            orders.remove(order)


def _whole(orders: Orders, jobs: list[tuple[JobKey, int]]) -> bool:
    """Whether these are all visits of one mode."""
    if not jobs or len({mode for (_, mode, _), _ in jobs}) > 1:
        return False
    order, mode, _ = jobs[0][0]
    visits = orders.board.facts.problem.orders[order].modes[mode].visits_min
    return [visit for (_, _, visit), _ in jobs] == list(range(len(visits)))


def _in_turn(orders: Orders, order: int) -> bool:
    """Whether everything the order waits for is planned, ends on an earlier day and long enough before."""
    first = min(day for _, day in orders.jobs_on_board(order))
    before, waits = orders.board.facts.after[order], orders.board.waits
    (job, day), stop = orders.jobs_on_board(order)[0], min(orders.board.where[order], key=lambda s: s[0])[1]
    if order in waits.linked and stop.start < waits.open((job,), day)[0]:
        return False
    return all(o not in orders.left and all(day < first for _, day in orders.jobs_on_board(o)) for o in before)
