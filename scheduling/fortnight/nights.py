"""Nights away on a board (rules.py, `night`): who sleeps where, what pays, and nights that came apart mended.

A night is the second of a team's `ends` on one day and the first of the same people's on the next. The search hangs up one half
and puts work on the other day (`hang_night`); before a board is judged, halves alone drive home after all (`keep_nights`).
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from scheduling.fortnight.board import Board, Ends, Team
from scheduling.fortnight.cover import Reach
from scheduling.fortnight.hanging import Hanging
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.use import DayUse

Fault = tuple[int, Team, Ends]
"""A team that may not sleep or start where it does, and its ends without that."""


# --- vehicles ---------------------------------------------------------------------------------------------------------


def vehicles_of(board: Board) -> list[list[str]] | None:
    """A vehicle for each team of each day, kept overnight by those who sleep away; None if they do not go round."""
    given: list[list[str]] = []
    for day, teams in enumerate(board.teams):
        kept = dict(zip((t.mask for t in board.teams[day - 1]), given[day - 1], strict=True)) if day else {}
        names = _vehicles_of_day(board, teams, kept)
        if names is None:
            return None
        given.append(names)
    return given


def _vehicles_of_day(board: Board, teams: list[Team], kept: dict[int, str]) -> list[str] | None:
    """Who slept away keeps theirs, who will sleep away takes the smallest that does, the largest of the rest the largest left."""
    given = [kept.get(team.mask, "") if team.ends[0] else "" for team in teams]
    free = sorted((v for v in board.facts.problem.vehicles if v.id not in given), key=lambda v: -v.seats)
    rank = sorted((i for i, name in enumerate(given) if not name), key=lambda i: -teams[i].mask.bit_count())
    for i in [i for i in rank if teams[i].ends[1]] + [i for i in rank if not teams[i].ends[1]]:
        fitting = [v for v in free if v.seats >= teams[i].mask.bit_count()]
        if not fitting:
            return None
        chosen = fitting[-1] if teams[i].ends[1] else fitting[0]
        free.remove(chosen)
        given[i] = chosen.id
    return given


# --- mending ----------------------------------------------------------------------------------------------------------


def keep_nights(orders: Orders) -> None:
    """Make every night on the board keep its rules: who may not sleep away drives home, and loses what has no time then."""
    while (fault := next(_faults(orders.board, orders.inserter.hanging), None)) is not None:
        day, team, ends = fault
        new = with_ends(orders, day, team, ends)
        if new is not None:
            orders.board.replace(day, team, new)
            continue
        for order in sorted({order for stop in team.stops for order, _, _ in stop.kind.jobs}):
            orders.remove(order)


def _faults(board: Board, hanging: Hanging) -> Iterator[Fault]:
    nights = [(day, team) for day, teams in enumerate(board.teams) for team in teams if team.ends != (0, 0)]
    for day, team in nights:
        start, end = team.ends
        if end and not (team.mask in hanging.after(day) and hanging.leaves(day + 1, team.mask) == end):
            yield day, team, (start, 0)
        if start and not (team.mask in hanging.before(day) and hanging.slept(day - 1, team.mask) == start):
            yield day, team, (0, end)
        if end and (beds_left(board, day, end) < 0 or _row(board, day, team.mask) > board.facts.problem.rules.nights_in_row):
            yield day, team, (start, 0)
    if nights and vehicles_of(board) is None:
        yield nights[0][0], nights[0][1], (0, 0)


def beds_left(board: Board, night: int, place: int) -> int:
    """Beds of a lodging that are free in the night after a day."""
    taken = sum(team.mask.bit_count() for team in board.teams[night] if team.ends[1] == place)
    return board.facts.problem.lodgings[place - 1].beds - taken


def _row(board: Board, night: int, mask: int) -> int:
    """Nights in a row that these people sleep away, the one after this day counted whether they do or not."""
    away = [any(t.mask == mask and t.ends[1] for t in teams) for teams in board.teams]
    first, last = night, night
    while first and away[first - 1]:
        first -= 1
    while last + 1 < len(away) and away[last + 1]:
        last += 1
    return last - first + 1


def with_ends(orders: Orders, day: int, team: Team, ends: Ends) -> Team | None:
    """The team between other places: at the same times if it can, else at its cheapest; None if the rules do not let it."""
    board = orders.board
    same = board.make(day, team.mask, team.stops, ends)
    if board.timely(day, same, team):
        return same
    others = [t for t in board.teams[day] if t is not team]
    use = DayUse(
        board.facts, [s for t in others for s in t.stops], Reach(board.cover, day, others) if board.cover.asked else None
    )
    for rested in (False, True):
        stops = orders.inserter.timing.times(day, team.mask, tuple(s.kind for s in team.stops), use, rested, ends)
        if stops is not None and board.timely(day, new := board.make(day, team.mask, stops, ends), team):
            return new
    return None


# --- what pays --------------------------------------------------------------------------------------------------------


def take_what_pays(orders: Orders) -> None:
    """Teams that are out on two days in a row sleep away where that costs less than driving home and back."""
    board, hanging = orders.board, orders.inserter.hanging
    for day in (d for d, follows in enumerate(hanging.next_date) if follows):
        for team in [t for t in board.teams[day] if not t.ends[1]]:
            after = next((t for t in board.teams[day + 1] if t.mask == team.mask and not t.ends[0]), None)
            if after is not None:
                _sleep_if_cheaper(orders, day, team, after)


def _sleep_if_cheaper(orders: Orders, day: int, team: Team, after: Team) -> None:
    board = orders.board
    best, least = 0, team.cents + after.cents - 0.5
    for place in places_for(board, day, team):
        pair = _pair(board, day, team, after, place)
        if pair[0].cents + pair[1].cents < least and board.timely(day, pair[0], team):
            best, least = place, pair[0].cents + pair[1].cents
    if best:
        evening, morning = _pair(board, day, team, after, best)
        board.replace(day, team, evening)
        if board.timely(day + 1, morning, after):
            board.replace(day + 1, after, morning)
        else:
            board.replace(day, evening, team)


def _pair(board: Board, day: int, team: Team, after: Team, place: int) -> tuple[Team, Team]:
    evening = board.make(day, team.mask, team.stops, (team.ends[0], place))
    return evening, board.make(day + 1, after.mask, after.stops, (place, after.ends[1]))


def places_for(board: Board, night: int, team: Team) -> list[int]:
    """Lodgings with beds left for a team that has nights left in its row."""
    if _row(board, night, team.mask) > board.facts.problem.rules.nights_in_row:
        return []
    places = range(1, len(board.facts.problem.lodgings) + 1)
    return [place for place in places if beds_left(board, night, place) >= team.mask.bit_count()]


def hang_night(orders: Orders, rng: random.Random) -> tuple[list[int], set[int]]:
    """Let a team sleep away after a day, or before it, and free its people on the other day; gives the orders taken off for
    that, and those of the team."""
    board, hanging = orders.board, orders.inserter.hanging
    evening = rng.random() < 0.5
    nights = [(d, d + (not evening)) for d, follows in enumerate(hanging.next_date) if follows]
    found = [(n, d, t) for n, d in nights for t in board.teams[d] if not t.ends[evening]]
    if not found:
        return [], set()
    night, day, team = rng.choice(found)
    near = board.facts.home_min
    turbine = team.stops[-1 if evening else 0].kind.turbine
    places = [place for place in places_for(board, night, team) if near[place][turbine] < near[0][turbine]]
    if not places:
        return [], set()
    place = rng.choice(places)
    new = with_ends(orders, day, team, (team.ends[0], place) if evening else (place, team.ends[1]))
    if new is None:
        return [], set()
    board.replace(day, team, new)
    gone = _free_other_day(orders, night + evening, team.mask, place, evening)
    return gone, {order for stop in new.stops for order, _, _ in stop.kind.jobs}


def _free_other_day(orders: Orders, day: int, mask: int, place: int, evening: bool) -> list[int]:
    """The other half with the same team if it is out as it is; else its people's work that day comes off."""
    same = next((t for t in orders.board.teams[day] if t.mask == mask), None)
    if same is not None and not same.ends[not evening]:
        new = with_ends(orders, day, same, (place, same.ends[1]) if evening else (same.ends[0], place))
        if new is not None:
            orders.board.replace(day, same, new)
            return []
    gone: list[int] = []
    for team in [t for t in orders.board.teams[day] if t.mask & mask]:
        for order in sorted({order for stop in team.stops for order, _, _ in stop.kind.jobs}):
            gone += orders.remove(order)
    return gone
