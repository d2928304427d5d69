"""A board brought under the rule of rescue cover: stays shifted so that teams are out together, what is still bare taken off."""

from __future__ import annotations

from scheduling.fortnight.board import Stop, Team
from scheduling.fortnight.cover import Reach
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.use import DayUse

FIRMLY = 20.0
"""Weight of bare minutes against money when stays are shifted."""
ROUNDS = 2


def keep_cover(orders: Orders, *, shift: bool) -> None:
    """Make every stay on the board covered; `shift`: first try other starts for the same teams."""
    board = orders.board
    for day, teams in enumerate(board.teams):
        if not board.cover.bare_min(day, teams):
            continue
        for _ in range(ROUNDS if shift else 0):
            if not _shift_day(orders, day):
                break
    days = range(len(board.teams))
    while day_stop := next(((d, stop) for d in days if (stop := _least_bare(orders, d))), None):
        for order in {order for order, _, _ in day_stop[1].kind.jobs}:
            orders.remove(order)


def _shift_day(orders: Orders, day: int) -> bool:
    """Other starts for the day's teams, each in turn, where fewer minutes are bare then; True if there are any."""
    board, better = orders.board, False
    for team in list(board.teams[day]):
        others = [t for t in board.teams[day] if t is not team]
        now = board.cover.bare_min(day, board.teams[day])
        new = _shifted(orders, day, team, others) if now else None
        if new is not None and board.cover.bare_min(day, [*others, new]) < now and board.timely(day, new, team):
            board.replace(day, team, new)
            better = True
    return better


def _shifted(orders: Orders, day: int, team: Team, others: list[Team]) -> Team | None:
    board = orders.board
    use = DayUse(board.facts, [s for t in others for s in t.stops], Reach(board.cover, day, others, FIRMLY))
    rules = board.facts.problem.rules
    rested = team.returns_min - team.leaves_min > rules.break_after_min
    stops = orders.inserter.timing.times(day, team.mask, tuple(s.kind for s in team.stops), use, rested, team.ends)
    return None if stops is None else board.make(day, team.mask, stops, team.ends)


def _least_bare(orders: Orders, day: int) -> Stop | None:
    """Of the day's stays that are bare, the one whose orders cost least to leave out."""
    board = orders.board
    bare = [
        stop
        for team in board.teams[day]
        for stop in team.stops
        if board.cover.bare(day, stop, [t for t in board.teams[day] if t is not team])
    ]
    return min(bare, key=lambda stop: _loss(orders, stop), default=None)


def _loss(orders: Orders, stop: Stop) -> tuple[bool, float]:
    numbers = [order for order, _, _ in stop.kind.jobs]
    return any(n in orders.must for n in numbers), sum(orders.left_cents[n] for n in numbers)
