"""A plan that is known already put back on a board, to go on from there."""

from __future__ import annotations

from collections.abc import Iterable

from scheduling.fortnight.board import Board, Stop
from scheduling.fortnight.columns import JobKey, start_index
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan, Visit


def put_plan(orders: Orders, plan: Plan) -> list[str]:
    """Put a plan's visits on an empty board; gives the orders that have no place there (they are left out).

    Orders go whole: one with a visit that this problem does not allow takes all its visits off.
    """
    board = orders.board
    modes = _modes(board.facts, plan)
    for day, visits in sorted(_by_team(plan.visits), key=lambda one: one[0]):
        stops = [stop for visit in visits if (stop := _stop(board, visit, modes)) is not None]
        if stops:
            mask = sum(1 << board.facts.person[person] for person in dict.fromkeys(visits[0].people))
            board.add(day, board.make(day, mask, tuple(sorted(stops, key=lambda stop: stop.start))))
    return _settle(orders, {job.order for visit in plan.visits for job in visit.jobs})


def _by_team(visits: Iterable[Visit]) -> list[tuple[int, list[Visit]]]:
    teams: dict[tuple[int, tuple[str, ...]], list[Visit]] = {}
    for visit in visits:
        teams.setdefault((visit.day, tuple(sorted(visit.people))), []).append(visit)
    return [(day, found) for (day, _), found in teams.items()]


def _modes(facts: Facts, plan: Plan) -> dict[str, int]:
    """Order id -> the mode that its visits' minutes are."""
    minutes: dict[str, dict[int, int]] = {}
    for visit in plan.visits:
        for job in visit.jobs:
            minutes.setdefault(job.order, {})[job.visit] = job.work_min
    found: dict[str, int] = {}
    for order, by_visit in minutes.items():
        if order in facts.order:
            asked = tuple(by_visit[number] for number in sorted(by_visit))
            modes = facts.problem.orders[facts.order[order]].modes
            fitting = [number for number, mode in enumerate(modes) if mode.visits_min == asked]
            found |= {order: fitting[0]} if fitting else {}
    return found


def _stop(board: Board, visit: Visit, modes: dict[str, int]) -> Stop | None:
    """The visit as a stop, None where this problem does not allow it."""
    facts = board.facts
    if any(job.order not in modes for job in visit.jobs) or any(person not in facts.person for person in visit.people):
        return None
    jobs: tuple[JobKey, ...] = tuple((facts.order[job.order], modes[job.order], job.visit) for job in visit.jobs)
    kind = board.kinds.get(jobs)
    at = start_index(kind, visit.day, visit.start)
    if at is None:
        return None
    field = kind.fields[visit.day]
    return Stop(kind, field, visit.start, visit.start + field.slots, float(field.cents[at]), float(field.chance[at]))


def _settle(orders: Orders, asked: set[str]) -> list[str]:
    """Whole orders are in; what is there in part comes off again."""
    facts, gone = orders.board.facts, list[str]()
    for number, order in enumerate(facts.problem.orders):
        jobs = orders.jobs_on_board(number)
        whole = bool(jobs) and len(jobs) == len(order.modes[jobs[0][0][1]].visits_min)
        if jobs:
            orders.left.discard(number)
            if not whole:
                orders.remove(number)
    for number, order in enumerate(facts.problem.orders):
        if order.id in asked and number in orders.left:
            gone.append(order.id)
    return gone
