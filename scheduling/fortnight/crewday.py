"""One day solved exactly among the visits that might be made on it, everything on other days staying as it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from scheduling.fortnight.board import Board, Team
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.crewing import Around, Crewed, Crewing
from scheduling.fortnight.orders import Orders


def around_day(board: Board, day: int) -> Around:
    """Minutes left, times away and equipment brought as if nobody were out on that day."""
    left = [dict(weeks) for weeks in board.left_min]
    away = [{d: times for d, times in person.items() if d != day} for person in board.away]
    for team in board.teams[day]:
        for person in board.facts.members_of(team.mask):
            left[person][board.week[day]] += team.returns_min - team.leaves_min
    elsewhere = [t for other, teams in enumerate(board.teams) if other != day for t in teams]
    brought = frozenset(e for t in elsewhere for s in t.stops for e in s.kind.equipment)
    return Around(left, away, brought, _handed_over(board, elsewhere))


def _handed_over(board: Board, elsewhere: list[Team]) -> dict[tuple[int, int, int], int]:
    """People of the jobs on other days whose orders cost something when they are handed over."""
    costly = board.facts.company.hand_over
    if not costly:
        return {}
    return {job: team.mask for team in elsewhere for stop in team.stops for job in stop.kind.jobs if job[0] in costly}


def crew_day(
    orders: Orders,
    day: int,
    kinds: Iterable[Kind],
    seconds: float,
    threads: int,
    seed: int,
    should_stop: Callable[[], bool] | None = None,
) -> Crewed:
    """The best teams for some of these kinds on the day. Missing an order costs as much as leaving it out."""
    board = orders.board
    nodes = [(kind, day) for kind in dict.fromkeys(kinds) if day in kind.fields]
    loose = {o: orders.left_cents[o] for kind, _ in nodes for o, _, _ in kind.jobs}
    model = Crewing(board, nodes, frozenset(), frozenset(), orders.left_cents, around_day(board, day), loose)
    for node in model.every if board.waits.linked else ():
        first, last = board.waits.open(node.kind.jobs, day)
        for start, at in zip(node.field.starts.tolist(), node.at, strict=True):
            if start < first or start + node.field.slots > last:
                model.model.add(at == 0)
    model.hint({day: board.teams[day]}, ())
    return model.solve(seconds, threads, seed, should_stop)


def put_day(board: Board, day: int, teams: list[Team]) -> None:
    """Exchange all teams of a day."""
    for team in list(board.teams[day]):
        board.remove(day, team)
    for team in teams:
        board.add(day, team)
