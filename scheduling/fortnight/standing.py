"""Turbines that stand between two visits of an order, which count towards the most that may stand at a time.

The search places one day at a time and cannot see this rule; `relieve` takes orders off the board until it holds.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from scheduling.fortnight.board import Board
from scheduling.fortnight.orders import Orders


def concerned(board: Board) -> list[int]:
    """Orders that keep their turbine stopped between visits, on sites with a limit."""
    p = board.facts.problem
    limits = p.rules.max_stopped
    sites = [p.turbines[t].site for t in board.facts.own]
    return [i for i, o in enumerate(p.orders) if o.stopped_between and sites[i] in limits]


def too_many_stand(board: Board) -> bool:
    """Whether somewhere, at some time, more turbines of a site stand than may."""
    f, p = board.facts, board.facts.problem
    stands = np.zeros((len(p.turbines), p.total_slots), bool)
    for day, teams in enumerate(board.teams):
        for stop in [s for t in teams for s in t.stops]:
            stands[list(stop.kind.stops), f.first[day] + stop.start : f.first[day] + stop.end] = True
    for order in concerned(board):
        visits = sorted((day, stop.start, stop.end) for day, stop in board.where.get(order, []))
        for (day, _, end), (later, start, _) in pairwise(visits):
            stands[f.own[order], f.first[day] + end : f.first[later] + start] = True
    for site, most in p.rules.max_stopped.items():
        here = [i for i, t in enumerate(p.turbines) if t.site == site]
        if len(here) > most and int(stands[here].sum(axis=0).max(initial=0)) > most:
            return True
    return False


def relieve(orders: Orders) -> None:
    """Take orders that keep turbines stopped off the board, cheapest to leave out first, until the rule holds."""
    suspects = sorted(concerned(orders.board), key=lambda o: (o in orders.must, orders.left_cents[o]))
    for order in [o for o in suspects if o not in orders.left]:
        if not too_many_stand(orders.board):
            return
        orders.remove(order)
