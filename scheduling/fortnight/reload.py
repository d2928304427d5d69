"""A plan that is known already put back on a board, to go on from there."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from scheduling.fortnight.board import Board, Ends, Stop, Team
from scheduling.fortnight.columns import JobKey, start_index
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.use import DayUse, blocked


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
            board.add(day, board.make(day, mask, tuple(sorted(stops, key=lambda stop: stop.start)), _places(board, visits)))
    return _settle(orders, {job.order for visit in plan.visits for job in visit.jobs})


def put_what_holds(orders: Orders, plan: Plan) -> set[tuple[str, int]]:
    """Put on an empty board what of a plan keeps this problem's rules, teams without those who are not there.

    Gives (order, visit) of the visits that stand as the plan has them, people included, even where their order came off
    again because another visit of it fell away.
    """
    board, modes = orders.board, _modes(orders.board.facts, plan)
    kept: set[tuple[str, int]] = set()
    for day, visits in sorted(_by_team(plan.visits), key=lambda one: (one[0], -_weight(orders, one[1]))):
        known = [board.facts.person[one] for one in visits[0].people if one in board.facts.person]
        mask = sum(1 << one for one in known) & board.facts.certified[day]
        stops = sorted((s for visit in visits if (s := _stop(board, visit, modes, gone=True)) is not None), key=lambda s: s.start)
        team = _team_that_holds(board, day, mask, stops, _places(board, visits))
        if team is None:
            continue
        board.add(day, team)
        if mask.bit_count() == len(visits[0].people):
            jobs = [job for stop in team.stops for job in stop.kind.jobs]
            kept |= {(board.facts.problem.orders[order].id, visit) for order, _, visit in jobs}
    _settle(orders, {job.order for visit in plan.visits for job in visit.jobs})
    _in_sequence(orders)
    return kept


def _weight(orders: Orders, visits: list[Visit]) -> float:
    """Cents that the orders of a team would cost if left out: where two teams cannot both stay, the dearer one does."""
    numbers = {orders.board.facts.order.get(job.order) for visit in visits for job in visit.jobs}
    return sum(orders.left_cents[number] for number in numbers if number is not None)


def _places(board: Board, visits: list[Visit]) -> Ends:
    """Where the team of these visits sets out from and sleeps; the base where this problem does not know the lodging."""
    places = {one.id: place for place, one in enumerate(board.facts.problem.lodgings, start=1)}
    return places.get(visits[0].starts_from, 0), places.get(visits[0].ends_at, 0)


def _team_that_holds(board: Board, day: int, mask: int, stops: list[Stop], ends: Ends) -> Team | None:
    """The team with as many of its stops as keep the rules beside what stands on the board already; None without any."""
    if not mask or mask & board.busy[day] or not board.vehicles_for(day, None, mask.bit_count()):
        return None
    use = DayUse(board.facts, [stop for team in board.teams[day] for stop in team.stops])
    free = [s for s in stops if board.suits(day, mask, s.kind) and not blocked(board.facts, use, s.kind) & _slots(s)]
    while free:
        team = board.make(day, mask, tuple(free), ends)
        if board.timely(day, team) and board.pairs_kept(day, None, mask):
            return team
        free = next((less for less in _less_one(free) if board.timely(day, board.make(day, mask, tuple(less), ends))), free[:-1])
    return None


def _less_one(stops: list[Stop]) -> Iterable[list[Stop]]:
    """The stops without one of them, the last first; never without all."""
    return ([*stops[:i], *stops[i + 1 :]] for i in reversed(range(len(stops))) if len(stops) > 1)


def _slots(stop: Stop) -> int:
    return (1 << stop.end) - (1 << stop.start)


def _in_sequence(orders: Orders) -> None:
    """Take off what stands before something it must come after, or whose visits lie too far apart or on one day."""
    facts = orders.board.facts
    for number, order in enumerate(facts.problem.orders):
        days = [day for _, day in orders.jobs_on_board(number)]
        gaps = [later - day for day, later in pairwise(days)]
        most = order.max_gap_days if order.max_gap_days is not None else facts.days
        early = any(
            other in orders.left or _ends(orders, number, other) > _begins(orders, number) for other in facts.after[number]
        )
        if days and (early or any(not 0 < gap <= most for gap in gaps)):
            orders.remove(number)


def _ends(orders: Orders, later: int, order: int) -> int:
    """Minute from which the later order may start."""
    return max(orders.board.facts.waited(later, order, day, stop.end) for day, stop in orders.board.where[order])


def _begins(orders: Orders, order: int) -> int:
    """Minute at which the order's first visit begins; never before the horizon for an order that is left out."""
    p = orders.board.facts.problem
    return min((p.days[d].start_min + s.start * p.slot_min for d, s in orders.board.where.get(order, [])), default=10**9)


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


def _stop(board: Board, visit: Visit, modes: dict[str, int], *, gone: bool = False) -> Stop | None:
    """The visit as a stop, None where this problem does not allow it; with `gone`, people and some orders may be unknown."""
    facts = board.facts
    strangers = not gone and any(person not in facts.person for person in visit.people)
    here = [job for job in visit.jobs if job.order in modes]
    if strangers or not here or (len(here) < len(visit.jobs) and not gone):
        return None
    jobs: tuple[JobKey, ...] = tuple((facts.order[job.order], modes[job.order], job.visit) for job in here)
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
