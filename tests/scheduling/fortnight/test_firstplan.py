"""The first plans: each better one is told at once, not only the last."""

from __future__ import annotations

import random

from scheduling.fortnight.board import Board
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.firstplan import first_plan, sequences
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.search import Search
from tests.bench.tiny_cases import random_small


def test_every_better_plan_is_told_when_it_is_found() -> None:
    facts = Facts(random_small(4))
    board, rng = Board(facts, Kinds(facts)), random.Random(1)
    orders = Orders(board, rng)
    search, told = Search(orders, rng), list[float]()
    first_plan(orders, search, lambda: False, lambda: told.append(search.best[2]))
    assert 1 <= len(told) <= len(sequences(facts))
    assert told == sorted(told, reverse=True)
    assert search.best[2] == told[-1] == orders.cents()
