"""Ways to do a job on a day: with a team as it is, with a new team, with a team that others join; the cheapest in people-time."""

from __future__ import annotations

from tests.bench.teams2007.board import ANY, Board, Day, Option
from tests.bench.teams2007.reader import DAY

FITS_TRIED, JOINS_TRIED = 6, 3


def cheapest(b: Board, j: int, day_at: int, idle: float, spare: int = ANY) -> Option | None:
    """The cheapest way to do the job on the day, or None.

    `idle`: what an hour costs that a new team has left, as a share; `spare`: so many people more than the job needs may go.
    """
    day, n = b.days[day_at], b.n
    fits, almost = _sorted_teams(b, j, day, spare)
    best, deep = None, True
    for cost, k in fits[:FITS_TRIED]:
        start = b.timely(day_at, k, j, deep)
        if start is not None:
            best = Option(cost, k, [], start)
            break
        deep = False
    if day.free and (best is None or best.cost > 0):
        best = _with_new_team(b, j, day_at, idle, best, deep)
        if almost and (best is None or best.cost > 0):
            near = sorted((n.pool.things_short(day.teams[k].holds, n.need[j]), k) for k in almost)
            for _, k in near[:JOINS_TRIED]:
                best = _with_others(b, j, day_at, k, (idle, spare), best, deep)
    return best


def _sorted_teams(b: Board, j: int, day: Day, spare: int) -> tuple[list[tuple[float, int]], list[int]]:
    """Teams that suit the job (with the time they would waste), and teams that others might join."""
    need, duration, size, top = b.n.need[j], b.n.duration[j], b.n.size[j], b.n.pool.top
    fits, almost = [], []
    for k, team in enumerate(day.teams):
        if team.load + duration <= DAY:
            over = len(team.people) - size
            if ((team.holds | top) - need) & top == top:
                if over <= spare:
                    fits.append((over * duration - 0.01 * team.load, k))
            elif over < spare:
                almost.append(k)
    fits.sort()
    return fits, almost


def _with_new_team(b: Board, j: int, day_at: int, idle: float, best: Option | None, deep: bool) -> Option | None:
    need, duration, size, free = b.n.need[j], b.n.duration[j], b.n.size[j], b.days[day_at].free
    new = b.n.pool.cover(need, free, draw=b.rng.random)
    for _ in range(2):
        if new is not None and len(new) > size:
            again = b.n.pool.cover(need, free, draw=b.rng.random)
            new = again if again is not None and len(again) < len(new) else new
    if new is None:
        return best
    people = max(1, len(new))
    cost = people * (duration + (DAY - duration) * idle) - size * duration
    if best is None or cost < best.cost:
        start = b.timely(day_at, -1, j, deep)
        if start is not None:
            return Option(cost, -1, new, start)
    return best


def _with_others(
    b: Board, j: int, day_at: int, k: int, rule: tuple[float, int], best: Option | None, deep: bool
) -> Option | None:
    day, (idle, spare) = b.days[day_at], rule
    team = day.teams[k]
    join = b.n.pool.cover(b.n.need[j], day.free, team.holds, b.rng.random)
    if not join or len(team.people) + len(join) - b.n.size[j] > spare:
        return best
    over = max(0, len(team.people) + len(join) - b.n.size[j])
    cost = len(join) * DAY * 0.8 + over * b.n.duration[j] * idle
    if best is None or cost < best.cost:
        start = b.timely(day_at, k, j, deep)
        if start is not None:
            return Option(cost, k, join, start)
    return best
