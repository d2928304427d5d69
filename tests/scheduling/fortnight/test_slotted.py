"""Coarse problems: the time-indexed model and its search against the exact model and against counting out."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.problem import Equipment, Order, Problem
from scheduling.fortnight.rows import quiet
from scheduling.fortnight.slotted_crew import Crewer
from scheduling.fortnight.slotted_cuts import tighten
from scheduling.fortnight.slotted_model import SlottedModel, slotted_model
from scheduling.fortnight.slotted_runs import Stay
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import fortnight_case
from tests.bench.shortterm.cases import Shape, shortterm_case
from tests.scheduling.fortnight.brute import optimum
from tests.scheduling.fortnight.naive_check import naive_rules

SLACK_CENTS = 2


def tiny(seed: int, tasks: int = 4, a_day: int = 2) -> Problem:
    """Few tasks over three days at two places, with four or five people."""
    return shortterm_case(Shape(tasks, a_day, 3 * a_day, 2, "tight"), seed)


def tangled(seed: int) -> Problem:
    """A tiny case with everything that orders share: equipment, a turbine stopped by another's work, sequence, few may stand."""
    rng, problem = random.Random(seed), tiny(seed)
    orders = [_few_modes(order) for order in problem.orders]
    days = tuple(range(len(problem.days)))
    chosen = rng.sample(range(4), 3)
    for i in chosen[:2]:
        orders[i] = replace(orders[i], equipment=("crane",))
    near = [t.id for t in problem.turbines if t.site == _site(problem, orders[chosen[2]])]
    orders[chosen[2]] = replace(orders[chosen[2]], stops=tuple(near))
    orders[chosen[0]] = replace(orders[chosen[0]], after=(orders[chosen[1]].id,))
    return replace(
        problem,
        orders=tuple(orders),
        equipment=(Equipment("crane", "crane", 1, days[1:], day_cost=70_000),),
        rules=replace(problem.rules, max_stopped={"site 1": 1, "site 2": 2}),
        weights=replace(problem.weights, team_day=9_000),
    )


def _site(problem: Problem, order: Order) -> str:
    return next(t.site for t in problem.turbines if t.id == order.turbine)


def model_of(problem: Problem) -> SlottedModel:
    """The model, which must apply."""
    facts = Facts(problem)
    model = slotted_model(facts, Kinds(facts))
    assert model is not None
    return model


def both(problem: Problem) -> int:
    """Value found by the coarse search, equal to that of the exact model; checked by both readings of the rules."""
    model_of(problem)
    exact = solve(problem, Params(time_limit_s=60.0, seed=1))
    coarse = solve(problem, Params(time_limit_s=60.0, seed=1, exact=False))
    assert exact.status == "optimal", problem.name
    assert check(problem, coarse.plan) == (), problem.name
    assert naive_rules(problem, coarse.plan) == set(), problem.name
    assert coarse.bound <= exact.plan.value + SLACK_CENTS, problem.name
    assert abs(coarse.plan.value - exact.plan.value) <= SLACK_CENTS, problem.name
    assert coarse.status == "optimal", problem.name
    return coarse.plan.value


@pytest.mark.parametrize("seed", range(5))
def test_a_tiny_coarse_problem_is_solved_to_the_optimum(seed: int) -> None:
    both(tiny(seed))


@pytest.mark.parametrize("seed", range(5))
def test_what_orders_share_is_kept(seed: int) -> None:
    both(tangled(seed))


def test_counting_out_agrees() -> None:
    for seed in range(4):
        problem = tiny(seed, tasks=2)
        problem = replace(problem, people=problem.people[:4], orders=tuple(_few_modes(o) for o in problem.orders))
        best = optimum(problem)
        assert best is not None
        found = solve(problem, Params(time_limit_s=60.0, exact=False))
        assert abs(found.plan.value - best.value) <= SLACK_CENTS, seed


def _few_modes(order: Order) -> Order:
    return replace(order, modes=tuple(m for m in order.modes if len(m.visits_min) <= 2)[:2] or order.modes[:1])


def test_the_same_seed_gives_the_same_plan() -> None:
    problem = tiny(3, tasks=6)
    first, second = (solve(problem, Params(time_limit_s=60.0, seed=5, exact=False)) for _ in range(2))
    assert first.status == second.status == "optimal"
    assert first.plan.value == second.plan.value


def test_fine_grids_rides_and_long_chains_are_left_to_the_other_search() -> None:
    fine = Facts(fortnight_case("small", 1))
    assert slotted_model(fine, Kinds(fine)) is None
    problem = tiny(1, tasks=6)
    together = replace(problem, orders=tuple(replace(o, ride_along=True, turbine="T01", stops=("T01",)) for o in problem.orders))
    facts = Facts(together)
    assert slotted_model(facts, Kinds(facts)) is None
    problem = tiny(1, tasks=6, a_day=4)
    model_of(problem)
    near = replace(problem, turbines=tuple(replace(t, x_km=t.x_km / 9, y_km=t.y_km / 9) for t in problem.turbines))
    facts = Facts(near)
    assert slotted_model(facts, Kinds(facts)) is None  # a team could work at both places on one day, with a way between


# --- the tightened relaxation ---------------------------------------------------------------------------------------------


def lowest(model: SlottedModel, integer: bool) -> float:
    """Optimum of the model or of its linear relaxation by a general-purpose solver."""
    highs = quiet(1, 0)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.passModel(model.rows.model(0.0, integer=integer))
    highs.run()
    return float(highs.getInfo().objective_function_value)


@pytest.mark.parametrize("problem", [*map(tiny, range(4)), *map(tangled, range(4)), tiny(1, tasks=6, a_day=4)])
def test_rows_that_tighten_cut_off_no_whole_solution(problem: Problem) -> None:
    model = model_of(problem)
    plain, best = lowest(model, integer=False), lowest(model, integer=True)
    relaxed = tighten(model, 60.0)
    assert relaxed is not None
    assert plain - 1e-6 <= relaxed.cost <= best + 1e-6 * abs(best)
    assert lowest(model, integer=True) == pytest.approx(best, rel=1e-7)


def test_the_relaxation_rises() -> None:
    model = model_of(shortterm_case(Shape(20, 2, 10, 3, "tight"), 1))
    plain, relaxed = lowest(model, integer=False), tighten(model, 60.0)
    assert relaxed is not None
    assert relaxed.cost > plain * 1.001


# --- people ---------------------------------------------------------------------------------------------------------------


def stays_of(model: SlottedModel, team: int, day: int, start: int, orders: int) -> list[Stay]:
    """Stays of different orders on turbines of one place that ask for so many people at that time."""
    found: dict[int, Stay] = {}
    for run in model.runs:
        for stay in run.stays:
            kind, on, at = stay
            if (kind.team, on, at) == (team, day, start) and run.order not in found:
                found[run.order] = stay
    assert len(found) >= orders
    return list(found.values())[:orders]


def roomy(people: int) -> SlottedModel:
    """Calm weather, one skill, so many people, each present every day."""
    problem = shortterm_case(Shape(20, 2, 10, 1, "regular"), 1)
    everyone = tuple(
        replace(p, shifts=_every_day(problem), fit_days=_days(problem), rescue_days=_days(problem)) for p in problem.people
    )
    everyone = tuple(replace(p, skills=tuple(replace(h, days=_days(problem)) for h in p.skills)) for p in everyone)
    return model_of(replace(problem, people=everyone[:people]))


def _days(problem: Problem) -> tuple[int, ...]:
    return tuple(range(len(problem.days)))


def _every_day(problem: Problem) -> tuple:
    shift = problem.people[0].shifts[0]
    return tuple(replace(shift, day=d) for d in _days(problem))


def test_crews_are_found_or_a_least_set_that_is_too_much() -> None:
    model = roomy(5)
    crewer = Crewer(model.facts, model.cluster, 1)
    day, start = _busiest(model)
    three = stays_of(model, 2, day, start, 3)
    assert crewer.crews(three) is None
    assert len(crewer.too_much(three)) == 3  # any two of them can be done by five people
    assert frozenset(three) in crewer.proven
    crews = crewer.crews(three[:2])
    assert crews is not None
    assert sorted(mask.bit_count() for mask, _ in crews) == [2, 2]
    assert not crews[0][0] & crews[1][0]


def _busiest(model: SlottedModel) -> tuple[int, int]:
    """Day and slot at which most different orders may have a team of two."""
    found: dict[tuple[int, int], set[int]] = {}
    for run in model.runs:
        for kind, day, start in run.stays:
            if kind.team == 2:
                found.setdefault((day, start), set()).add(run.order)
    return max(found, key=lambda at: len(found[at]))


def test_one_team_does_not_work_at_two_places_on_a_day() -> None:
    model = roomy(2)
    crewer = Crewer(model.facts, model.cluster, 1)
    short = [s for run in model.runs for s in run.stays if s[0].team == 2 and s[0].fields[s[1]].slots == 1]
    pairs = [(a, b) for a in short for b in short if (a[1], a[2], b[2]) == (b[1], 1, 2) and a[0].jobs[0][0] != b[0].jobs[0][0]]
    place = {turbine: model.cluster[turbine] for turbine in model.facts.own}
    apart = next((a, b) for a, b in pairs if place[a[0].turbine] != place[b[0].turbine])
    close = next((a, b) for a, b in pairs if place[a[0].turbine] == place[b[0].turbine] and a[0].turbine != b[0].turbine)
    assert crewer.crews(list(apart)) is None
    assert crewer.crews(list(close)) is not None
