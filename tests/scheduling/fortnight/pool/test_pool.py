"""Routes counted out: crews, costs and bounds against slower ways to the same figures."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest

from scheduling.fortnight.adopt import adopt, timed
from scheduling.fortnight.board import Board
from scheduling.fortnight.check import check
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.firstplan import likely_first
from scheduling.fortnight.money import plan_of
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.pool.counting import count_routes
from scheduling.fortnight.pool.crews import Crews
from scheduling.fortnight.pool.day import NOTHING, DayRoutes, class_of
from scheduling.fortnight.pool.dive import Dive
from scheduling.fortnight.pool.dominance import Dominance
from scheduling.fortnight.pool.master import PoolMaster
from scheduling.fortnight.pool.sequences import TooMany
from scheduling.fortnight.pool.whole import whole_numbers
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import fortnight_case
from tests.bench.tiny_cases import random_small

SEEDS = range(0, 60, 2)
CENTS = 2.0


def master_of(seed: int) -> PoolMaster:
    facts = Facts(random_small(seed))
    master = PoolMaster(facts, Kinds(facts), 1, 100_000, lambda: False)
    for _ in range(200):
        if master.round(20) > -0.5:
            break
    return master


@pytest.mark.parametrize("seed", SEEDS)
def test_crews_are_the_least_sets_that_suit(seed: int) -> None:
    facts = Facts(random_small(seed))
    kinds, crews = Kinds(facts), Crews(facts)
    board = Board(facts, kinds)
    for kind in (kind for kind in kinds.all() if not kind.crew):  # who is named for a visit is left to the board
        for day in kind.fields:
            people = facts.members_of(facts.fit[day])
            masks = [sum(1 << i for i in some) for n in range(1, crews.seats + 1) for some in itertools.combinations(people, n)]
            suit = [mask for mask in masks if board.suits(day, mask, kind)]
            least = {mask for mask in suit if not any(other != mask and other & mask == other for other in suit)}
            assert set(crews.of(day, (kind.team, kind.needs))) == least


@pytest.mark.parametrize("seed", SEEDS)
def test_no_route_costs_less_on_the_board_than_counted_out(seed: int) -> None:
    facts = Facts(random_small(seed))
    every = Kinds(facts)
    kinds, orders = every.all(), Orders(Board(facts, every), random.Random(1))
    equal = total = 0
    for day in range(facts.days):
        for routes in DayRoutes(facts, kinds, Crews(facts), Dominance(facts, kinds), day, 100_000).all():
            for g, masks in enumerate(routes.crews):
                for i in range(routes.range(g).start, routes.range(g).stop)[:8]:
                    row = [k for k in routes.kinds[i].tolist() if k != NOTHING]
                    team = timed(orders, day, masks[0], tuple(kinds[k] for k in row))
                    if team is None or any(kinds[k].fields[day].told for k in row):
                        continue
                    classes = routes.classes[g][0]
                    cents = team.cents + sum(stop.cents for stop in team.stops) - facts.company.hire_cents(team.mask)
                    total += 1
                    equal += abs(cents - routes.cents[classes, i]) < CENTS
                    assert cents >= routes.cents[classes, i] - CENTS, (class_of(facts, day, masks[0]), row)
                    assert team.returns_min - team.leaves_min >= routes.least_min[i]
    assert equal >= 0.8 * total  # dearer only where a break or the turbine's other stays push a start


@pytest.mark.parametrize("seed", SEEDS)
def test_the_linear_optimum_and_the_whole_bound_hold_for_the_optimum(seed: int) -> None:
    result = solve(random_small(seed), Params(time_limit_s=30, threads=1))
    assert result.status in ("optimal", "infeasible")
    if result.status == "infeasible":
        return
    master = master_of(seed)
    assert master.bound <= result.plan.value + CENTS
    assert master.bound == pytest.approx(master.value, abs=abs(master.value) * 1e-4 + 100.0)
    found: list[float] = []
    bound = whole_numbers(master, [], 5.0, 1, lambda columns, cents: found.append(cents))
    assert master.bound - CENTS <= bound <= result.plan.value * 1.0003 + CENTS
    assert all(cents >= bound * 0.999 - CENTS for cents in found)


def half(problem: Problem) -> Problem:
    """The problem with the first half of its orders."""
    orders = problem.orders[: len(problem.orders) // 2]
    names = {order.id for order in orders}
    orders = tuple(replace(order, after=tuple(one for one in order.after if one in names)) for order in orders)
    return replace(problem, orders=orders, published=tuple(one for one in problem.published if one.order in names))


def test_a_plan_told_as_teams_stands_again_on_the_board() -> None:
    problem = half(fortnight_case("small", 1))
    facts = Facts(problem)
    kinds = Kinds(facts)
    master = PoolMaster(facts, kinds, 1, 200_000, lambda: False)
    while master.round(40) < -1.0:
        pass
    dive = Dive(master, 1, lambda: False, lambda column: column)
    tries = itertools.takewhile(lambda _: not dive.best, range(20))
    for _ in tries:
        dive.again([])
    orders = Orders(Board(facts, kinds), random.Random(1))
    chosen = [master.columns[i] for i in dive.best]
    adopt(orders, [(c.day, c.mask, tuple(master.kinds[k] for k in c.kinds)) for c in chosen])
    stands = {
        (day, team.mask, frozenset(s.kind.jobs for s in team.stops)) for day, ts in enumerate(orders.board.teams) for team in ts
    }
    told = {(c.day, c.mask, frozenset(master.kinds[k].jobs for k in c.kinds)) for c in chosen}
    assert len(told & stands) >= 0.8 * len(told)  # the rest meets on a turbine or waits too long for its week
    assert master.bound <= orders.cents() <= 1.05 * dive.value


def test_too_many_sequences_are_told() -> None:
    facts = Facts(fortnight_case("small", 1))
    with pytest.raises(TooMany):
        PoolMaster(facts, Kinds(facts), 1, 50, lambda: False)
    with pytest.raises(TooMany):
        PoolMaster(facts, Kinds(facts), 1, 200_000, lambda: True)


def test_parts_of_routes_are_sorted_by_signature_and_time_away() -> None:
    facts = Facts(fortnight_case("small", 1))
    kinds = Kinds(facts).all()
    for routes in DayRoutes(facts, kinds, Crews(facts), Dominance(facts, kinds), 1, 200_000).all():
        assert (np.diff(routes.of) >= 0).all()
        for g in range(len(routes.crews)):
            least = routes.least_min[routes.range(g)]
            assert (np.diff(least) >= 0).all()
            assert routes.away_min[routes.parts(g)][0] == least[0]


def test_orders_that_the_linear_optimum_does_come_first() -> None:
    problem = half(fortnight_case("small", 1))
    facts = Facts(problem)
    kinds = Kinds(facts)
    master = PoolMaster(facts, kinds, 1, 200_000, lambda: False)
    while master.round(40) < -1.0:
        pass
    master.solve()
    done = [1.0 - float(x) for x in np.asarray(master.highs.getSolution().col_value)[master.left]]
    orders = Orders(Board(facts, kinds), random.Random(1))
    likely_first(orders, done, random.Random(1))
    likely = {o for o, share in enumerate(done) if share > 0.5}
    assert len(likely - orders.left) >= 0.7 * len(likely)
    assert check(problem, plan_of(orders.board, orders.left)) == ()
    assert master.bound <= orders.cents()


def test_two_hands_count_the_same_routes_as_one() -> None:
    facts = Facts(fortnight_case("small", 1))
    kinds = Kinds(facts).all()
    one, two = (count_routes(facts, kinds, 200_000, lambda: False, hands) for hands in (1, 2))
    assert list(one) == list(two)
    for day, sizes in one.items():
        for mine, other in zip(sizes, two[day], strict=True):
            assert np.array_equal(mine.kinds, other.kinds)
            assert np.array_equal(mine.cents, other.cents)
            assert mine.crews == other.crews


def test_the_second_hand_tells_of_too_many_routes_and_of_being_late() -> None:
    facts = Facts(fortnight_case("small", 1))
    kinds = Kinds(facts).all()
    with pytest.raises(TooMany):
        count_routes(facts, kinds, 50, lambda: False, 2)
    with pytest.raises(TooMany):
        count_routes(facts, kinds, 200_000, lambda: True, 2)


def test_a_plan_is_taken_with_its_waits_or_not_at_all() -> None:
    facts = Facts(half(fortnight_case("small", 1)))
    master = PoolMaster(facts, Kinds(facts), 1, 200_000, lambda: False)
    while master.round(40) < -1.0:
        pass
    as_counted = Dive(master, 1, lambda: False, lambda column: column)
    assert any(as_counted.again([]) for _ in range(20))
    waiting = Dive(master, 1, lambda: False, lambda column: replace(column, least_min=10_000))
    assert not waiting.take(as_counted.best)
    assert not Dive(master, 1, lambda: False, lambda column: None).take(as_counted.best)
    dearer = Dive(master, 1, lambda: False, lambda column: replace(column, cents=column.cents + 100.0))
    assert dearer.take(as_counted.best)
    assert dearer.value == pytest.approx(as_counted.value + 100.0 * len(as_counted.best), abs=2.0)
