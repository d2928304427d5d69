from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from scheduling.year.check import check
from scheduling.year.plan import Plan, Result
from scheduling.year.problem import Equipment, Problem, Rules, Together
from scheduling.year.solve import Params, solve
from tests.scheduling.year.farm import TINY, every_round, laid, rounds, service, with_items

EXACT = Params(time_limit_s=20.0, gap=0.0)


def solved(problem: Problem) -> Result:
    """The optimum, borne out by the second pair of eyes."""
    result = solve(problem, EXACT)
    assert result.status == "optimal"
    assert check(problem, result.plan) == ()
    assert result.bound <= result.value
    return result


def test_services_go_to_the_first_calm_week() -> None:
    """Both fit together from week 2 on; week 3 is the first that loses 10 h * 0.2 MWh each instead of 10 MWh: 2 MWh * 50.00
    and two weeks late at 10.00, twice."""
    result = solved(TINY)
    assert result.plan.week_of == {"T1 service": 3, "T2 service": 3}
    assert result.plan.parts == {
        "lost energy": 20_000, "lateness": 4_000, "left out": 0, "overload": 0, "bad tail": 0, "equipment": 0, "change": 0,
    }  # fmt: skip
    assert result.value == 24_000
    assert result.gap == 0.0


def test_capacity_spreads_the_work() -> None:
    """60 person-hours each: one a week; the other goes a week later."""
    result = solved(with_items(service("T1", effort_person_h=60.0), service("T2", effort_person_h=60.0)))
    assert sorted(result.plan.week_of.values()) == [3, 4]


def test_a_skill_is_a_capacity_of_its_own() -> None:
    """One inspector in a team of two works 20 of the 40 person-hours, all that a week has of inspectors."""
    items = (service("T1", skills={"inspector": 1}), service("T2", skills={"inspector": 1}))
    assert sorted(solved(with_items(*items)).plan.week_of.values()) == [3, 4]


def test_a_statutory_close_is_kept_whatever_it_costs() -> None:
    result = solved(with_items(service("T1", statutory=True, closes=1, late_cost=0), service("T2")))
    assert result.plan.week_of["T1 service"] == 0  # weeks 0 and 1 cost the same; the first is taken
    assert result.plan.week_of["T2 service"] == 3


def test_a_statutory_close_that_has_passed_goes_first() -> None:
    problem = with_items(service("T1", statutory=True, opens=-9, due=-2, closes=-1), service("T2"))
    result = solved(problem)
    assert result.plan.week_of["T1 service"] == 0
    assert "1 statutory item is past its close" in result.warnings[1]


def test_a_statutory_item_with_no_week_before_its_close_is_left_out_not_late() -> None:
    result = solved(with_items(service("T1", statutory=True, closes=2, weeks=(3, 4, 5))))
    assert result.plan.left_out == ("T1 service",)


def test_most_turbines_down() -> None:
    result = solved(replace(TINY, rules=Rules(fit_share=1.0, max_down={"north": 1})))
    assert sorted(result.plan.week_of.values()) == [3, 4]


def test_equipment_has_weeks_and_a_price_for_each() -> None:
    items = (service("T1", equipment=("crane",)), service("T2", equipment=("crane",)))
    one = with_items(*items, equipment=(Equipment("crane", (2, 4, 5), 2, 3_000),))
    assert solved(one).plan.week_of == {"T1 service": 4, "T2 service": 4}
    assert solved(one).plan.parts["equipment"] == 3_000
    narrow = replace(one, equipment=(Equipment("crane", (2, 4, 5), 1, 3_000),))
    assert sorted(solved(narrow).plan.week_of.values()) == [4, 5]


def test_a_larger_service_takes_the_smaller_with_it() -> None:
    small = service("T1", id="T1 half-year", effort_person_h=20.0, opens=2, due=3, closes=4)
    result = solved(with_items(service("T1", absorbs=("T1 half-year",)), small))
    assert [(p.week, p.with_item) for p in result.plan.placements] == [(3, ""), (3, "T1 service")]
    assert result.plan.parts["lost energy"] == 10_000


def test_work_in_one_stop_saves_hours() -> None:
    oil = service("T1", id="T1 oil", effort_person_h=20.0, stop_h=4.0, opens=4, due=4, closes=5)
    problem = replace(with_items(service("T1"), oil), together=(Together("T1 service", "T1 oil", 3.0),))
    result = solved(problem)
    assert result.plan.week_of == {"T1 service": 4, "T1 oil": 4}
    assert result.plan.parts["lost energy"] == 11_000  # 10 + 4 - 3 hours at 0.2 MWh and 50.00


def test_pins_and_the_last_issue_are_kept() -> None:
    problem = with_items(service("T1", pinned=2), service("T2", previous=4, move_cost=2_000))
    result = solved(problem)
    assert result.plan.week_of == {"T1 service": 2, "T2 service": 4}
    dear = with_items(service("T1"), service("T2", previous=5, move_cost=500))
    assert solved(dear).plan.week_of["T2 service"] == 3
    assert solved(dear).plan.parts["change"] == 500


def test_a_week_full_of_pinned_work_takes_no_other() -> None:
    items = [service("T1", id=f"pinned {n}", pinned=3, effort_person_h=60.0) for n in range(2)]
    result = solved(with_items(*items, service("T2")))
    assert result.plan.week_of == {"pinned 0": 3, "pinned 1": 3, "T2 service": 4}
    assert result.plan.parts["overload"] == 20 * 9_000


def test_pins_that_clash_are_infeasible_and_named() -> None:
    items = (service("T1", pinned=3, equipment=("crane",)), service("T2", pinned=3, equipment=("crane",)))
    problem = with_items(*items, equipment=(Equipment("crane", (2,)),), rules=Rules(fit_share=1.0, max_down={"north": 1}))
    result = solve(problem, EXACT)
    assert (result.status, result.plan.placements, result.plan.parts) == ("infeasible", (), {})
    assert "crane is not there in 2026-W05" in result.text
    assert "north allows at most 1 down in 2026-W05" in result.text


def test_nothing_due_is_empty() -> None:
    result = solve(with_items())
    assert (result.status, result.value, result.plan.left_out) == ("empty", 0, ())
    assert "nothing to lay" in result.text


def test_items_without_any_week_are_all_left_out() -> None:
    result = solved(with_items(service("T1", weeks=()), service("T2", weeks=(0,), opens=1)))
    assert result.plan.left_out == ("T1 service", "T2 service")


def test_without_history_the_round_goes_by_due_dates_and_says_so() -> None:
    problem = replace(TINY, scenarios=(), workable_share={}, lost_mwh_per_stop_h={})
    result = solved(problem)
    assert result.plan.week_of == {"T1 service": 1, "T2 service": 1}
    assert result.plan.parts["lost energy"] == 0
    assert "goes by due dates" in result.warnings[0]


def test_less_than_three_years_is_said() -> None:
    assert "Only 2 past weather years are known (2020, 2021)" in solved(TINY).warnings[0]


def test_the_asked_share_of_years_fits_and_the_rest_is_paid() -> None:
    """100 person-hours fit in a full week only; in the windy year half of them are undone: 0.5 * 50 h * 90.00."""
    item = service("T1", effort_person_h=100.0, weeks=(3,))
    tables = {"climb": (SHARE_CALM, SHARE_WINDY)}
    problem = replace(with_items(item), workable_share=tables, rules=Rules(fit_share=0.5))
    assert solved(problem).plan.parts["overload"] == 225_000
    assert solved(replace(problem, rules=Rules(fit_share=1.0))).plan.left_out == ("T1 service",)


SHARE_CALM, SHARE_WINDY = (1.0,) * 6, (0.5,) * 6


def test_the_bad_tail_counts_as_asked() -> None:
    """Years that cost 100.00 and 300.00: the mean is 200.00, the worst fifth 300.00, so the tail is 100.00."""
    lost = {"type A": ((0.2,) * 6, (0.6,) * 6)}
    problem = replace(with_items(service("T1", late_cost=0, weeks=(3,))), lost_mwh_per_stop_h=lost)
    for share, cents in ((0.0, 0), (0.1, 1_000), (1.0, 10_000)):
        weights = replace(problem.weights, tail_share=share)
        assert solved(replace(problem, weights=weights)).plan.parts["bad tail"] == cents


def test_a_tail_without_an_edge_still_gives_the_optimum() -> None:
    """With quantile 0 any edge of the tail is as good; left without a floor it drifted off and the optimum was lost."""
    item = service("T1", stop_h=0.0, weeks=(2,), late_cost=0, equipment=("crane",), left_out_cost=10_000)
    crane = (Equipment("crane", (2,), 1, 20_000),)
    problem = with_items(item, equipment=crane, weights=replace(TINY.weights, quantile=0.0))
    assert solved(problem).value == 10_000


def test_a_stop_ends_with_a_round_that_keeps_the_rules() -> None:
    result = solve(TINY, EXACT, should_stop=lambda: True)
    assert result.status in ("stopped", "optimal")
    assert check(TINY, result.plan) == ()


def test_a_short_time_still_gives_a_checked_round() -> None:
    result = solve(TINY, Params(time_limit_s=1e-6))
    assert result.status in ("out of time", "optimal")
    assert check(TINY, result.plan) == ()
    assert result.bound <= result.value


def test_progress_tells_value_and_bound() -> None:
    seen: list[tuple[float, int, float]] = []
    result = solve(TINY, EXACT, progress=lambda *point: seen.append(point))
    assert all(value >= result.value for _, value, _ in seen)
    assert all(bound <= result.value + 1 for _, _, bound in seen)


def test_a_hint_is_used_only_if_it_keeps_the_rules() -> None:
    good = laid(TINY, {"T1 service": 3, "T2 service": 3})
    bad = Plan((), ("T1 service", "nobody"))
    for hint in (good, bad, laid(TINY, {"T1 service": 0, "T2 service": 0})):
        assert solve(TINY, EXACT, hint=hint).value == 24_000


@pytest.mark.parametrize("change", [{"time_limit_s": 0.0}, {"gap": -1.0}, {"gap": float("nan")}, {"threads": 0}])
def test_faulty_params_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="params"):
        Params(**change)


@settings(max_examples=60, deadline=None)
@given(rounds(most_items=3, weeks=3))
def test_the_optimum_is_the_best_of_all_rounds(problem: Problem) -> None:
    result = solve(problem, EXACT)
    assert result.status == "optimal"
    assert check(problem, result.plan) == ()
    best = min(plan.value for plan in every_round(problem))
    assert abs(result.value - best) <= 4  # parts are rounded one by one


@settings(max_examples=60, deadline=None)
@given(rounds(most_items=6, weeks=5))
def test_every_round_solved_keeps_the_rules(problem: Problem) -> None:
    result = solve(problem, EXACT)
    assert check(problem, result.plan) == ()
    assert result.bound <= result.value
    for placed in result.plan.placements:
        item = next(item for item in problem.items if item.id == placed.item)
        assert not (item.statutory and 0 <= item.closes < placed.week)
