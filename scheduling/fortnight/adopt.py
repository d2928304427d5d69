"""From teams with their kinds to a board: times found team by team, what does not fit is planned anew or left out."""

from __future__ import annotations

from itertools import permutations

from scheduling.fortnight.board import Team
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.exactday import settle
from scheduling.fortnight.firstplan import sequences
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.use import DayUse

TeamDay = tuple[int, int, tuple[Kind, ...]]
"""Day, people as a mask, kinds in no order."""


def adopt(orders: Orders, teams: list[TeamDay]) -> None:
    """Clear the board and put these teams on it; then offer a place to every order still out."""
    orders.clear()
    missed: list[tuple[int, Kind]] = []
    for day, mask, kinds in sorted(teams, key=lambda one: (one[0], -sum(k.fields[one[0]].slots for k in one[2]), one[1])):
        team = timed(orders, day, mask, kinds)
        if team is None:
            missed += [(day, kind) for kind in kinds]
        else:
            orders.board.add(day, team)
    for day, kind in missed:
        option = orders.inserter.best_kind(kind, day)
        if option is not None:
            orders.board.replace(day, option.old, option.new)
    settle(orders)
    for order in sequences(orders.board.facts)[0]:
        if order in orders.left:
            orders.add(order)


def timed(orders: Orders, day: int, mask: int, kinds: tuple[Kind, ...]) -> Team | None:
    """The team with its cheapest order and times beside what stands there that day; None where it cannot be."""
    board, p = orders.board, orders.board.facts.problem
    if not board.vehicles_for(day, None, mask.bit_count()) or mask & board.busy[day]:
        return None
    if not all(board.suits(day, mask, kind) for kind in kinds):
        return None
    use = DayUse(board.facts, [s for t in board.teams[day] for s in t.stops])
    found: list[Team] = []
    for order in permutations(kinds):
        for rested in (False, True):
            stops = orders.inserter.timing.times(day, mask, order, use, rested)
            if stops is None:
                break
            team = board.make(day, mask, stops)
            if board.timely(day, team) and board.pairs_kept(day, None, mask):
                found.append(team)
                break
            if team.returns_min - team.leaves_min <= p.rules.break_after_min:
                break
    return min(found, key=lambda t: t.cents + sum(s.cents for s in t.stops), default=None)
