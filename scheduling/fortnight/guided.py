"""From a layout over days to a board: each day's visits are put to real teams, what does not fit is planned anew or left out."""

from __future__ import annotations

from collections.abc import Callable

from scheduling.fortnight.columns import Kind
from scheduling.fortnight.crewday import crew_day, put_day
from scheduling.fortnight.exactday import settle
from scheduling.fortnight.firstplan import sequences
from scheduling.fortnight.orders import Orders

Layout = list[tuple[Kind, int]]


def follow(
    orders: Orders, layout: Layout, seconds_a_day: float, seed: int, should_stop: Callable[[], bool] | None = None
) -> None:
    """Clear the board and build it after the layout, each day crewed exactly; then offer a place to every order still out."""
    orders.clear()
    by_day: dict[int, list[Kind]] = {}
    for kind, day in layout:
        by_day.setdefault(day, []).append(kind)
    for day, kinds in sorted(by_day.items()):
        _place(orders, day, kinds)
        crewed = crew_day(orders, day, kinds, seconds_a_day, 1, seed, should_stop)
        if crewed.status in ("optimal", "feasible"):
            put_day(orders.board, day, crewed.teams.get(day, []))
    settle(orders)
    for order in sequences(orders.board.facts)[0]:
        if order in orders.left:
            orders.add(order)


def _place(orders: Orders, day: int, kinds: list[Kind]) -> list[Kind]:
    """Put the kinds of a day to teams, large teams and long stays first; gives those that do not fit."""
    missed = []
    for kind in sorted(kinds, key=lambda k: (-k.team, -k.fields[day].slots, k.jobs)):
        option = orders.inserter.best_kind(kind, day)
        if option is None:
            missed.append(kind)
        else:
            orders.board.replace(day, option.old, option.new)
    return missed
