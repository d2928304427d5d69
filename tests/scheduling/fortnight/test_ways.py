"""Curing times, further limits, day weights, equipment that costs to bring, several splits: by hand on the tiny farm."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from scheduling.bits import pack_members
from scheduling.fortnight.board import Board
from scheduling.fortnight.bound import Bounder
from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.explain import why_left_out
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.firstplan import first_plan
from scheduling.fortnight.order_rows import latest_end
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan, Result
from scheduling.fortnight.problem import Equipment, Mode, Order, Problem
from scheduling.fortnight.search import Search
from scheduling.fortnight.solve import Params, solve
from tests.scheduling.fortnight.farms import ALL_DAYS, calm, hand_plan, order, priced, tiny, with_orders, with_visit
from tests.scheduling.fortnight.naive_check import naive_rules
from tests.scheduling.fortnight.naive_money import naive_parts
from tests.scheduling.fortnight.until import searched

COAT_MIN, CURE_MIN = 120, 1440


def with_only(*found: Order, **changes: object) -> Problem:
    """The tiny farm with these orders only."""
    return replace(tiny(), orders=found, **changes)  # type: ignore[arg-type]


def curing() -> Problem:
    """A coat on T1 and the inspection of it at least a whole day after its end (24 h: the problem's number, no source)."""
    return with_only(
        order("coat", "T1", (2, (COAT_MIN,))),
        order("look", "T1", (2, (60,)), after=("coat",), after_gap_min=CURE_MIN),
    )


def plan_of(problem: Problem, exact: bool = True) -> Result:
    params = Params(time_limit_s=10.0, seed=1)
    result = solve(problem, params) if exact else searched(problem, params)
    assert check(problem, result.plan) == ()
    assert naive_rules(problem, result.plan) == set()
    assert result.bound <= result.plan.value + 2
    return result


def wait_min(problem: Problem, plan: Plan) -> int:
    """Real minutes from the end of the coat to the start of the look."""
    coat, look = sorted(plan.visits, key=lambda v: v.day)
    end = problem.days[coat.day].start_min + (coat.start + coat.slots) * problem.slot_min
    return problem.days[look.day].start_min + look.start * problem.slot_min - end


# --- curing -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("exact", [True, False])
def test_the_wait_is_kept_by_the_real_clock(exact: bool) -> None:
    problem = curing()
    plan = plan_of(problem, exact).plan
    assert plan.left_out == ()
    assert wait_min(problem, plan) >= CURE_MIN


def test_a_wait_one_minute_too_short_is_seen_by_both_readings() -> None:
    problem = curing()
    plan = plan_of(problem).plan
    waited = wait_min(problem, plan)
    for asked, rules in ((waited, set()), (waited + 1, {"sequence"})):
        asking = with_orders(problem, look={"after_gap_min": asked})
        assert {v.rule for v in check(asking, plan)} == naive_rules(asking, plan) == rules
    said = check(with_orders(problem, look={"after_gap_min": waited + 1}), plan)[0]
    assert said.text == f"order look starts {waited} min after the end of coat, {waited + 1} are asked for"
    assert said.amount == 1


def test_a_wait_longer_than_the_horizon_leaves_the_order_out_and_says_why() -> None:
    problem = with_orders(curing(), look={"after_gap_min": 4 * 1440})
    plan = plan_of(problem).plan
    assert plan.left_out == ("look",)
    reason = why_left_out(problem, plan, "look")
    assert reason.code == "comes after"
    assert reason.text == "No start that would do lies after coat by 96.0 h."


def test_a_thousand_steps_of_search_keep_every_wait() -> None:
    chain = [order(f"step {i}", ("T1", "T2")[i % 2], (2, (60,)), **_after(i)) for i in range(4)]
    problem = with_only(*chain, order("other", "T2", (2, (150,))), order("more", "T1", (2, (90,))))
    facts, rng = Facts(problem), random.Random(3)
    orders = Orders(Board(facts, Kinds(facts)), rng)
    search = Search(orders, rng)
    first_plan(orders, search, lambda: False)
    seen = 0
    for _ in range(1000):
        search.step(50_000.0)
        for later, earlier in enumerate(facts.after):
            for other in earlier:
                if later not in orders.left:
                    starts = [facts.moment(d, s.start) for d, s in orders.board.where[later]]
                    ends = [facts.moment(d, s.end) for d, s in orders.board.where[other]]
                    assert min(starts) - max(ends) >= problem.orders[later].after_gap_min
                    seen += 1
    assert seen >= 1000


def _after(number: int) -> dict[str, object]:
    return {"after": (f"step {number - 2}",), "after_gap_min": 900} if number > 1 else {}


def test_days_that_a_wait_leaves_for_the_end_of_what_comes_first() -> None:
    facts = Facts(tiny())  # days from 07:00 to 17:00, 24 h apart
    for gap, days, ends in ((0, [0, 1, 2], [0, 1, 2]), (601, [1, 2], [0, 1]), (34 * 60, [1, 2], [0, 1]), (34 * 60 + 1, [2], [0])):
        assert [found.tolist() for found in latest_end(facts, gap)] == [days, ends], gap
    assert [found.tolist() for found in latest_end(facts, 0, 1)] == [[1, 2], [0, 1]]


# --- further limits ---------------------------------------------------------------------------------------------------


def crane_weather() -> dict[str, str]:
    """The crane's limit holds on day 1 in slots 5 to 12 only."""
    table = np.zeros(calm().shape, bool)
    table[:, 25:33] = True
    return {"calm": pack_members(calm()), "crane": pack_members(table)}


def test_the_cranes_own_limit_must_hold_in_every_slot_too() -> None:
    lift = order("lift", "T3", (3, (180,)), equipment=("crane",), also=("crane",))
    problem = with_only(lift, workable=crane_weather())
    visit = plan_of(problem).plan.visits[0]
    assert (visit.day, visit.start, visit.slots) == (1, 5, 8)
    late = with_visit(problem, plan_of(problem).plan, 0, start=4)
    assert {v.rule for v in check(problem, late)} == naive_rules(problem, late) == {"window"}


def test_why_left_out_names_the_limits_of_the_equipment() -> None:
    lift = order("lift", "T3", (3, (300,)), equipment=("crane",), also=("crane",))
    problem = with_only(lift, workable=crane_weather())
    plan = plan_of(problem).plan
    reason = why_left_out(problem, plan, "lift")
    assert reason.code == "no chance"
    assert reason.text.endswith("Its own limits would leave 75 %; those of its equipment take that away.")


# --- money ------------------------------------------------------------------------------------------------------------


def test_a_likely_abort_counts_by_the_weight_of_its_day() -> None:
    problem = replace(tiny(), day_weight=(1.0, 0.6, 0.4))
    plan = priced(problem, hand_plan())
    # the crane work of three people stands on day 1 at a chance of 3 of 4: 0.25 * 15,000 * 3 * 0.6
    assert plan.parts["likely aborts"] == 6_750
    assert recompute_parts(tiny(), plan)["likely aborts"] == 11_250
    assert naive_parts(problem, plan) == plan.parts


def cranes(mobilise: int, *costs: int) -> Problem:
    """Crane jobs on all turbines, each with its price of leaving it out; the crane costs something to bring."""
    crane = Equipment("crane", "crane", 1, ALL_DAYS, day_cost=0, mobilise_cost=mobilise)
    jobs = (order(f"lift {i}", f"T{i + 1}", (2, (60,)), equipment=("crane",), left_out_cost=c) for i, c in enumerate(costs))
    return replace(with_only(*jobs), equipment=(crane,))


@pytest.mark.parametrize("exact", [True, False])
def test_a_crane_is_brought_once_for_all_or_not_at_all(exact: bool) -> None:
    three = plan_of(cranes(150_000, 100_000, 100_000, 100_000), exact).plan
    assert three.left_out == ()
    assert three.parts["equipment"] == 150_000
    assert naive_parts(cranes(150_000, 100_000, 100_000, 100_000), three) == three.parts
    one = plan_of(cranes(150_000, 100_000), exact).plan
    assert one.left_out == ("lift 0",)
    assert one.parts["equipment"] == 0


def test_the_bound_counts_bringing_the_crane() -> None:
    bounds: list[float] = []
    for mobilise in (0, 60_000):
        facts = Facts(cranes(mobilise, 200_000, 200_000, 200_000))
        said: list[dict[str, float]] = []
        Bounder(facts, Kinds(facts), 3.0, 1, said.append).run()
        bounds.append(max(found["bound"] for found in said if "bound" in found))
    # The linear optimum brings a third of the crane at least; whole numbers, where time is left for them, all of it.
    assert bounds[0] + 20_000 <= bounds[1] <= bounds[0] + 60_001


# --- splits -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("exact", [True, False])
def test_the_split_that_the_weather_fits_is_taken(exact: bool) -> None:
    """Day 0 leaves a whole stay of 4 h, day 1 one of 3 h: neither two equal visits nor one long one fit."""
    table = np.zeros(calm().shape, bool)
    table[:, 4:14] = True
    table[:, 24:29] = True
    work = order("service", "T1", (2, (360,)), (2, (180, 180)), (2, (240, 120)), (2, (120, 120, 120)))
    problem = with_only(work, workable={"calm": pack_members(table)})
    result = plan_of(problem, exact)
    assert [v.jobs[0].work_min for v in result.plan.visits] == [240, 120]


def test_same_seed_same_plan_with_several_splits() -> None:
    found = with_orders(tiny(), service={"modes": (Mode(2, (210, 150)), Mode(2, (180, 180)), Mode(2, (240, 120)))})
    plans = [solve(found, Params(seed=5, threads=1)).plan for _ in range(2)]
    assert plans[0] == plans[1]
