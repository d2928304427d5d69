"""Bounds never lie above an optimum, and route prices stay below what real routes cost."""

from __future__ import annotations

import functools
import os
import signal
from typing import Any

import highspy
import numpy as np
import pytest

from scheduling.fortnight import solve as solving
from scheduling.fortnight.bound import Bound, Bounder, how_it_ended
from scheduling.fortnight.check import check
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.daymodel import DayModel
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.hops import hop_floor
from scheduling.fortnight.solve import Params, solve
from scheduling.fortnight.wide.master import WideMaster
from scheduling.fortnight.wide.pricing import Limits
from tests.bench.cases import fortnight_case, random_small
from tests.scheduling.fortnight.farms import tiny


@functools.cache
def said(seed: int) -> tuple[list[dict[str, Any]], int]:
    problem = random_small(seed)
    result = solve(problem, Params(time_limit_s=120.0))
    assert result.status in ("optimal", "empty")
    facts, found = Facts(problem), list[dict[str, Any]]()
    Bounder(facts, Kinds(facts), 1.0, 0, found.append).run()
    return found, result.plan.value


@pytest.mark.parametrize("seed", range(25))
def test_no_bound_lies_above_the_optimum(seed: int) -> None:
    found, optimum = said(seed)
    for line in found:
        assert line.get("bound", 0.0) <= optimum + 2


def test_routes_close_most_of_the_gap() -> None:
    shares = []
    for seed in range(8):
        found, optimum = said(seed)
        bounds = [line["bound"] for line in found if "bound" in line]
        shares.append(max(bounds) / optimum if bounds else 1.0)
    assert sum(shares) / len(shares) > 0.85


def test_it_works_after_a_solve_with_other_threads_in_the_same_process() -> None:
    """A worker solves the year with two threads, then a fortnight: HiGHS refused the second and the bound was 0."""
    other = highspy.Highs()
    other.setOptionValue("output_flag", False)
    other.resetGlobalScheduler(True)
    other.setOptionValue("threads", 2)
    other.addVars(1, np.zeros(1), np.ones(1))
    other.run()
    facts = Facts(tiny())
    master = WideMaster(facts, Kinds(facts), 0)
    master.solve()
    assert master.value > 0


def test_the_master_only_rises_in_bound_and_falls_in_value() -> None:
    facts = Facts(tiny())
    master = WideMaster(facts, Kinds(facts), 0)
    values, bounds = [], []
    for _ in range(12):
        master.price(master.signed(master.solve()), Limits(0.0, 200), 20, lambda: False)
        values.append(master.value)
        bounds.append(master.bound)
    assert values == sorted(values, reverse=True)
    assert bounds == sorted(bounds)
    assert 0.8 * values[-1] < bounds[-1] <= values[-1] + 1.0


def test_hop_shares_never_exceed_a_route() -> None:
    facts = Facts(tiny())
    floor = hop_floor(facts)
    for a in set(facts.own):
        assert floor.team_min + floor.visit_min[a] <= 2 * facts.base_min[a] + 1e-6
        for b in set(facts.own) - {a}:
            route = facts.base_min[a] + facts.hop_min[a][b] + facts.base_min[b]
            assert floor.team_min + floor.visit_min[a] + floor.visit_min[b] <= route + 1e-6


def test_the_day_model_knows_every_candidate_and_rule() -> None:
    facts = Facts(tiny())
    kinds = Kinds(facts)
    model = DayModel(facts, kinds)
    assert len(model.x) == sum(len(kind.fields) for kind in kinds.all())
    assert model.rows.rows > 50


class Killed(Bound):
    """A bound whose process the machine ends as soon as it has begun."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        os.kill(self._process.pid, signal.SIGKILL)
        self._process.wait(10)


def test_a_killed_bound_leaves_the_best_plan_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = fortnight_case("small", 1)
    monkeypatch.setattr(solving, "Bound", Killed)
    result = solve(problem, Params(time_limit_s=1.5, exact=False))
    assert result.status == "out of time"
    assert result.plan.visits
    assert check(problem, result.plan) == ()
    assert "The bound stopped early (killed by signal 9" in result.text


def test_a_bound_that_breaks_tells_its_error_and_one_that_is_stopped_none() -> None:
    broken = Bound(tiny(), "soon", 0)  # type: ignore[arg-type]
    broken._process.wait(60)
    broken.stop()
    assert "TypeError" in broken.failure or "ValueError" in broken.failure
    stopped = Bound(tiny(), 30.0, 0)
    stopped.stop()
    assert stopped.failure == ""


@pytest.mark.parametrize(
    ("code", "errors", "said"),
    [
        (1, "Traceback\n  File x\nOSError: cannot read '/srv/lull/data/a.json': gone\n\n", "OSError: cannot read 'a.json': gone"),
        (1, r"OSError: no C:\srv\lull\a.json", "OSError: no a.json"),
        (1, "", "exit code 1"),
        (-11, "half a line", "killed by signal 11"),
    ],
)
def test_how_it_ended_tells_the_last_line_and_no_folder(code: int, errors: str, said: str) -> None:
    assert how_it_ended(code, errors) == said
