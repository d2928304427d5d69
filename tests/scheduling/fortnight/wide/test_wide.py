"""A site cut by days and areas: prices, bounds and joined plans against slower ways to the same figures."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from scheduling.fortnight import bound as bounding
from scheduling.fortnight.adopt import adopt
from scheduling.fortnight.board import Board
from scheduling.fortnight.check import check
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.facts import Facts, Floats
from scheduling.fortnight.money import plan_of
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from scheduling.fortnight.wide.guess import first_prices, slot_cents
from scheduling.fortnight.wide.master import WideMaster
from scheduling.fortnight.wide.pricing import Limits, Pricing, Rates
from scheduling.fortnight.wide.stage import WideStage
from scheduling.fortnight.wide.timed import Timer
from tests.bench.cases import fortnight_case
from tests.bench.tiny_cases import random_small

SEEDS = range(0, 60, 6)
CENTS = 2.0
STEPS = 250
ALL = Limits(1e9, 100_000)


def master_of(problem: Problem) -> WideMaster:
    facts = Facts(problem)
    return WideMaster(facts, Kinds(facts), 1)


def counting(steps: int) -> Callable[[], float]:
    """A clock that goes on by one step each time somebody looks."""
    count = itertools.count()
    return lambda: next(count) / steps


def random_rates(rng: np.random.Generator, kinds: int) -> Rates:
    return Rates(rng.uniform(0, 90_000, kinds), float(rng.uniform(0, 20_000)), float(rng.uniform(0, 150)))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_route_is_never_missed(seed: int) -> None:
    master, rng = master_of(random_small(seed)), np.random.default_rng(seed)
    equal = total = 0
    for day, tables in master.days.items():
        for table, window in itertools.product(tables, master.windows[day]):
            rates = random_rates(rng, len(master.kinds))
            found = Pricing(master.facts, table, window, rates).find(ALL)
            least = slow_least(master, table, window, rates)
            if least is not None:
                total += 1
                equal += abs(float(found.cents.min()) - least) < CENTS
                assert float(found.cents.min()) <= least + CENTS
    assert equal >= 0.8 * total  # lower only where a route is short in one order of its visits and cheap in another


def slow_least(master: WideMaster, table, window, rates: Rates) -> float | None:  # type: ignore[no-untyped-def]
    """The least reduced cost over every set of visits, each timed by itself."""
    timer = Timer(master.facts, table, window, rates.minute)
    best: list[float] = []
    for n in range(1, min(3, master.facts.problem.rules.climbs_a_day) + 1):
        for rows in itertools.combinations(range(len(table.kinds)), n):
            clash = any(table.clash[a, b] for a, b in itertools.combinations(rows, 2))
            ladders = sum(bool(table.ladder[k]) for k in rows)
            timed = None if clash or ladders > master.facts.problem.rules.ladder_climbs_a_day else timer.best(rows)
            if timed is not None:
                best.append(timed.reduced + rates.team - sum(rates.prize[table.kinds[k]] for k in rows))
    return min(best, default=None)


@pytest.mark.parametrize("seed", SEEDS)
def test_dropping_early_loses_no_route_under_the_limit(seed: int) -> None:
    master, rng = master_of(random_small(seed)), np.random.default_rng(seed)
    for day, tables in master.days.items():
        for table, window in itertools.product(tables, master.windows[day]):
            rates = random_rates(rng, len(master.kinds))
            every = Pricing(master.facts, table, window, rates).find(ALL)
            some = Pricing(master.facts, table, window, rates).find(Limits(0.0, 100_000))
            few = Pricing(master.facts, table, window, rates).find(Limits(0.0, 2))
            assert (every.cents < -0.5).sum() <= len(some.cents)
            least = float(every.cents.min(initial=0.0))
            assert min(few.floor, float(few.cents.min(initial=0.0))) <= min(least, 0.0) + CENTS


@pytest.mark.parametrize("seed", SEEDS)
def test_every_set_of_prices_proves_a_bound(seed: int) -> None:
    result = solve(random_small(seed), Params(time_limit_s=30, threads=1))
    assert result.status in ("optimal", "infeasible")
    if result.status == "infeasible":
        return
    master, rng = master_of(random_small(seed)), np.random.default_rng(seed)
    start: Floats = first_prices(master)
    for scale in (0.0, 0.5, 1.0, 3.0):
        price = master.signed(start * scale + rng.normal(0, 2_000, len(start)))
        assert master.price(price, Limits(0.0, 50), 5, lambda: False) <= result.plan.value + CENTS
    for _ in range(40):
        master.price(master.signed(master.solve()), Limits(0.0, 500), 10, lambda: False)
    assert master.bound <= result.plan.value + CENTS
    assert master.bound >= master.value - 0.01 * abs(master.value) - 500.0


def half_of_small() -> Problem:
    """The first thirty orders of the small case for five people: still more work than time."""
    whole = fortnight_case("small", 1)
    orders = tuple(replace(o, after=()) for o in whole.orders[:30])
    known = {o.id for o in orders}
    published = tuple(v for v in whole.published if v.order in known)
    return replace(whole, orders=orders, people=whole.people[:5], published=published)


def cut_and_joined(problem: Problem, steps: int) -> tuple[Plan, list[float], float]:
    """The last joined plan, the bounds told, the dive's own value."""
    facts = Facts(problem)
    kinds, said = Kinds(facts), list[dict[str, object]]()
    stage = WideStage(WideMaster(facts, kinds, 1), 1, said.append, counting(steps), 60.0)
    stage.run()
    orders = Orders(Board(facts, kinds), random.Random(1))
    teams = [one["teams"] for one in said if "teams" in one][-1]
    adopt(orders, [(day, sum(1 << i for i in who), tuple(kinds.get(tuple(jobs)) for jobs in some)) for day, who, some in teams])  # type: ignore[attr-defined]
    return plan_of(orders.board, orders.left), [float(one["bound"]) for one in said if "bound" in one], stage.dive.value  # type: ignore[arg-type]


def test_a_joined_plan_keeps_the_rules_and_beats_the_rule_of_thumb() -> None:
    problem = half_of_small()
    plan, bounds, dived = cut_and_joined(problem, STEPS)
    assert check(problem, plan) == ()
    assert plan.value < due_order_plan(problem).value
    assert max(bounds) <= dived
    assert max(bounds) <= plan.value
    again, told, _ = cut_and_joined(problem, STEPS)
    assert again == plan
    assert told == bounds


def test_the_bound_cuts_a_site_with_too_many_routes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounding, "MOST_ROUTES", 0)
    problem, said = half_of_small(), list[dict[str, object]]()
    facts = Facts(problem)
    bounder = bounding.Bounder(facts, Kinds(facts), 60.0, 1, said.append)
    monkeypatch.setattr(bounder, "share", counting(STEPS))
    bounder.run()
    assert any("teams" in one for one in said)
    assert max(one["bound"] for one in said if "bound" in one) <= due_order_plan(problem).value  # type: ignore[type-var]


def test_a_person_slot_is_worth_something_only_where_work_is_left() -> None:
    assert slot_cents(Facts(fortnight_case("small", 1))) > 0
